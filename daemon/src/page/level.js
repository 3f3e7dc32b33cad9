// The live angle as a water level in a column.

import { add, set } from "./svg.js";

/** One column's level; `draw` moves it. */
export class Level {
  constructor(parent) {
    this.group = add(parent, "g", { class: "level" });
    this.water = add(this.group, "rect", { class: "water" });
    this.surface = add(this.group, "line", { class: "surface" });
    this.pointers = add(this.group, "path", { class: "pointers" });
  }

  /** Draws the level at an angle (internal positive), greyed when old; null takes it away. */
  draw(frame, column, degrees, old) {
    const shown = degrees != null;
    this.group.setAttribute("visibility", shown ? "visible" : "hidden");
    if (!shown) return;
    this.group.setAttribute("class", old ? "level old" : "level");
    const reached = Math.max(-frame.reach, Math.min(frame.reach, degrees));
    const [neutral, y] = [frame.y(0), frame.y(reached)];
    const [x, end] = [column.x + 1, column.x + column.width - 1];
    const top = Math.min(neutral, y);
    set(this.water, { x, y: top, width: end - x, height: Math.abs(neutral - y) });
    set(this.surface, { x1: x, x2: end, y1: y, y2: y });
    set(this.pointers, { d: `${pointer(x, y, -12)} ${pointer(end, y, 12)}` });
  }
}

/** A triangle outside the column whose tip touches its edge. */
const pointer = (x, y, out) =>
  `M${x.toFixed(1)} ${y.toFixed(1)}l${out} -8v16z`;
