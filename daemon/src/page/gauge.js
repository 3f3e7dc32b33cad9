// The tide gauge: two columns, a water level each, and the high-water lines of what was kept.

import { add } from "./svg.js";
import { drawFrame, frameOf } from "./frame.js";
import { Level } from "./level.js";
import { drawMarks } from "./marks.js";
import { gaugeAloud, words } from "./strings.js";
import { DIRECTIONS, SIDES, kept, legOf } from "./view.js";

const REACH = 60; // degrees shown both ways; more only when something lies beyond
const FARTHEST = 90;

/** The whole gauge in one SVG element. */
export class Gauge {
  constructor(svg) {
    this.svg = svg;
    drawHatch(svg);
    const [back, marks, front] = [0, 1, 2].map(() => add(svg, "g"));
    this.back = back;
    this.levels = Object.fromEntries(SIDES.map((side) => [side, new Level(marks)]));
    this.marks = add(marks, "g");
    this.front = front;
    this.reach = REACH;
    this.drawn = "";
    new ResizeObserver(() => this.resize()).observe(svg);
    this.resize();
  }

  /** Draws the newest state. `old` tells for each side whether its data is old. */
  draw(state, hidden, old) {
    this.widen(state);
    for (const side of SIDES) {
      const leg = legOf(state, side);
      const shown = leg && leg.raised && !hidden && !state.ended;
      const degrees = shown ? leg.angle_deg : null;
      this.levels[side].draw(this.frame, this.frame.columns[side], degrees, old[side]);
    }
    this.drawKept(state, hidden);
  }

  /** Lines and band are drawn again only when they have changed. */
  drawKept(state, hidden) {
    const wanted = JSON.stringify([hidden, state.repetitions, state.changes]);
    if (wanted === this.drawn) return;
    this.drawn = wanted;
    this.marks.replaceChildren();
    this.front.replaceChildren();
    for (const side of SIDES) {
      const column = this.frame.columns[side];
      if (hidden) drawVeil(this.front, this.frame, column);
      else drawMarks(this.marks, this.frame, column, state, side);
    }
    this.svg.setAttribute("aria-label", gaugeAloud(countsOf(state)));
  }

  /** The scale reaches farther once something lies beyond it, and stays so. */
  widen(state) {
    const angles = [
      ...state.repetitions.map((one) => one.end_range_deg),
      ...state.legs.filter((leg) => leg.raised).map((leg) => leg.angle_deg),
    ];
    const beyond = angles.some((degrees) => Math.abs(degrees ?? 0) > REACH);
    if (!beyond || this.reach === FARTHEST) return;
    this.reach = FARTHEST;
    this.resize();
  }

  resize() {
    const { width, height } = this.svg.getBoundingClientRect();
    if (!width || !height) return;
    this.svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    this.frame = frameOf(width, height, this.reach);
    this.back.replaceChildren();
    drawFrame(this.back, this.frame);
    this.drawn = "";
  }
}

/** What is seen of a column while its angles are hidden. */
function drawVeil(parent, frame, column) {
  const x = column.x + column.width / 2;
  const line = (text, y) => add(parent, "text", { class: "veiled", x, y }, text);
  words.veiled.forEach((text, index) => line(text, frame.y(0) - 14 + index * 44));
}

function drawHatch(svg) {
  const size = { width: 8, height: 8, patternUnits: "userSpaceOnUse" };
  const pattern = add(add(svg, "defs"), "pattern", {
    id: "hatch",
    patternTransform: "rotate(45)",
    ...size,
  });
  add(pattern, "line", { class: "hatch", x1: 0, y1: 0, x2: 0, y2: 8 });
}

/** How many repetitions are kept, by side, phase and direction. */
function countsOf(state) {
  const counts = { left: {}, right: {} };
  for (const side of SIDES) {
    for (const phase of ["baseline", "retest"]) {
      for (const direction of DIRECTIONS) {
        const what = `${words.phases[phase]} ${words.directions[direction]}`;
        counts[side][what] = kept(state, side, phase, direction).length;
      }
    }
  }
  return counts;
}
