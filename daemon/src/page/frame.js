// Where things are on the gauge: two columns, a scale between them, neutral in the middle.

import { add } from "./svg.js";
import { words, wayOf } from "./strings.js";
import { SIDES } from "./view.js";

const MIDDLE = 56; // width of the scale between the columns, px
const EDGE = 16; // room beside a column for the pointers of the level, px
const LABEL = 50; // room at both ends of a column for its words, px
const STEP = 10; // degrees between two lines of the scale
const APART = 20; // a label needs this much height, px
const ONE_LINE = 215; // a column this wide has its words in one line, px

/** The geometry for a size in px and a scale that reaches `reach` degrees both ways. */
export function frameOf(width, height, reach) {
  const wide = (width - MIDDLE - 4 * EDGE) / 2;
  const columns = {
    left: { x: EDGE, width: wide },
    right: { x: width - EDGE - wide, width: wide },
  };
  const middle = height / 2;
  const perDegree = (middle - LABEL) / reach;
  const labelStep = STEP * perDegree < APART ? 3 * STEP : STEP;
  const y = (degrees) => middle - degrees * perDegree;
  return { width, height, reach, columns, labelStep, y };
}

/** Draws what does not move: columns, scale and words. */
export function drawFrame(parent, frame) {
  for (let degrees = -frame.reach; degrees <= frame.reach; degrees += STEP) {
    const y = frame.y(degrees);
    const kind = degrees === 0 ? "rule zero" : "rule";
    add(parent, "line", { class: kind, x1: EDGE, x2: frame.width - EDGE, y1: y, y2: y });
    if (degrees % frame.labelStep) continue;
    const label = { class: "degrees", x: frame.width / 2, y: y + 6 };
    add(parent, "text", label, `${Math.abs(degrees)}°`);
  }
  for (const side of SIDES) drawColumn(parent, frame, frame.columns[side]);
}

function drawColumn(parent, frame, column) {
  const box = { class: "column", x: column.x, y: 1, width: column.width, height: frame.height - 2 };
  add(parent, "rect", box);
  const centre = column.x + column.width / 2;
  write(parent, centre, 22, column, "internal");
  write(parent, centre, frame.height - 32, column, "external");
}

/** A column's words for a direction, in one line where it is wide enough, else in two. */
function write(parent, x, y, column, direction) {
  if (column.width >= ONE_LINE) {
    add(parent, "text", { class: "way", x, y: y + 8 }, wayOf(direction));
    return;
  }
  add(parent, "text", { class: "way", x, y }, `${words.directions[direction]} –`);
  add(parent, "text", { class: "way", x, y: y + 20 }, words.feet[direction]);
}
