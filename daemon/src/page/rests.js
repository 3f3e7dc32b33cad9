// The rests that a calibration or levelling wants, each with how far it has come.

import { restedFor, words } from "./strings.js";
import { make, setText } from "./view.js";

/** A list of rests; `draw` fills it. */
export class Rests {
  constructor() {
    this.element = make("ol", "rests");
  }

  draw(rests) {
    const list = this.element;
    while (list.children.length < rests.length) list.append(tile());
    while (list.children.length > rests.length) list.lastChild.remove();
    rests.forEach((rest, index) => fill(list.children[index], rest));
  }
}

function tile() {
  const item = make("li", "rest-tile");
  const bar = make("progress");
  bar.max = 1;
  item.append(make("strong"), bar, make("span"));
  return item;
}

function fill(item, rest) {
  const [name, bar, said] = item.children;
  setText(name, rest.name);
  bar.setAttribute("aria-label", rest.name);
  const part = rest.done ? 1 : Math.min(1, rest.rested_s / rest.wanted_s);
  if (bar.value !== part) bar.value = part;
  setText(said, saidOf(rest));
  item.classList.toggle("now", rest.now);
  item.classList.toggle("done", rest.done);
}

function saidOf(rest) {
  if (rest.done) return words.calibration.done;
  if (!rest.now) return words.calibration.wanted;
  return rest.still ? restedFor(rest.rested_s, rest.wanted_s) : words.calibration.moving;
}
