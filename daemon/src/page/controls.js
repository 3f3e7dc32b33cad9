// The buttons at the bottom, and what each says of itself.

import { listenToKeys, send } from "./commands.js";
import { words } from "./strings.js";
import { make, setText } from "./view.js";

/** Makes the buttons; returns what the page asks of them. */
export function makeControls(place, answer, sound, visitOf) {
  // `away`: something else than the gauge is shown, and keys are not meant for the visit.
  const controls = { open: true, keys: true, away: false, drawSound: () => {} };
  const say = async (kind) => setText(answer, await send(kind, visitOf()?.id));
  for (const kind of ["mark", "next", "undo"]) {
    button(place, words.buttons[kind], () => say(kind)).dataset.command = kind;
  }
  toggle(place, controls, "keys", words.keysOn, words.keysOff);
  toggle(place, controls, "open", words.openOn, words.openOff);
  soundButton(place, controls, sound);
  listenToKeys((kind) => {
    const meant = controls.keys && !controls.away;
    if (meant && visitOf()) say(kind);
    return meant;
  });
  return controls;
}

export function button(place, text, onClick) {
  const made = make("button", "", text);
  made.type = "button";
  made.addEventListener("click", onClick);
  place.append(made);
  return made;
}

/** A button that turns one of the page's own settings on and off. */
function toggle(place, controls, name, on, off) {
  const made = button(place, "", () => {
    controls[name] = !controls[name];
    show();
  });
  made.dataset.setting = name;
  const show = () => setText(made, controls[name] ? on : off);
  show();
}

/** Says whether sound is on; before the first gesture it asks to allow it. */
function soundButton(place, controls, sound) {
  const made = button(place, "", () => sound.toggle());
  controls.drawSound = () =>
    setText(made, sound.waiting ? words.soundAllow : sound.on ? words.soundOn : words.soundOff);
  controls.drawSound();
}
