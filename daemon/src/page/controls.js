// The buttons at the bottom, and what each says of itself.

import { listenToKeys, send } from "./commands.js";
import { words } from "./strings.js";
import { make, setText } from "./view.js";

/** Makes the buttons; returns what the page asks of them. `stateOf` gives the state of an open visit. */
export function makeControls(place, answer, { sound, speech }, stateOf) {
  const controls = {
    open: true,
    keys: true,
    // `away`: something else than the gauge is shown; `asking`: a form is. Keys are not the visit's then.
    away: false,
    asking: false,
    drawSound: () => {},
    takeOver: () => {},
  };
  const say = async (kind) => {
    sound.play(kind);
    setText(answer, await send(kind, stateOf()?.visit?.id));
  };
  for (const kind of ["mark", "next", "undo"]) {
    button(place, words.buttons[kind], () => say(kind)).dataset.command = kind;
  }
  const settings = place.appendChild(make("details", "settings"));
  settings.append(make("summary", "", words.settings));
  const inside = settings.appendChild(make("div", "choices"));
  toggle(inside, controls, "keys", words.keysOn, words.keysOff);
  const open = toggle(inside, controls, "open", words.openOn, words.openOff);
  if (speech.able) {
    toggle(inside, speech, "prompts", words.promptsOn, words.promptsOff);
    toggle(inside, speech, "values", words.valuesOn, words.valuesOff);
  }
  soundButton(place, controls, sound);
  controls.hideByDefault = () => {
    controls.hideByDefault = () => {};
    if (!open.touched) open.set(false);
  };
  listenToKeys((key, kind) => {
    const state = stateOf();
    if (!controls.keys || controls.away || !state) return false;
    if (controls.asking) return false;
    if (state.course && key === TAKE_OVER) controls.takeOver();
    else say(state.course || kind === "undo" ? kind : "mark");
    return true;
  });
  document.addEventListener("keydown", (event) => {
    if (controls.asking && oneKey(event)) event.preventDefault();
  });
  return controls;
}

/** The key by which another therapist takes over. */
const TAKE_OVER = "h";

/** Where a step needs one key only, a pedal gives it as well. */
function oneKey({ key, target: on, repeat }) {
  const target = document.querySelector("#course .one-key");
  if (!target || repeat || !["PageDown", "ArrowRight"].includes(key)) return false;
  if (on.closest?.("input, select")) return false;
  target.click();
  return true;
}

export function button(place, text, onClick) {
  const made = make("button", "", text);
  made.type = "button";
  made.addEventListener("click", onClick);
  place.append(made);
  return made;
}

/** A button that turns one of the page's own settings on and off. */
function toggle(place, target, name, on, off) {
  const made = button(place, "", () => {
    handle.touched = true;
    handle.set(!target[name]);
  });
  const handle = {
    touched: false,
    set(value) {
      target[name] = value;
      setText(made, value ? on : off);
    },
  };
  made.dataset.setting = name;
  handle.set(target[name]);
  return handle;
}

/** Says whether sound is on; before the first gesture it asks to allow it. */
function soundButton(place, controls, sound) {
  const made = button(place, "", () => sound.toggle());
  controls.drawSound = () =>
    setText(made, sound.waiting ? words.soundAllow : sound.on ? words.soundOn : words.soundOff);
  controls.drawSound();
}
