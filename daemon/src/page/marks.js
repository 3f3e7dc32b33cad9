// What repetitions leave on the gauge: high-water lines, their means, and the band of error.

import { add } from "./svg.js";
import { DIRECTIONS, changeOf, kept } from "./view.js";

const PHASES = ["baseline", "retest"];
const FEWEST = 3; // places kept free in each half, so that lines do not jump with the first few
const POST = 7; // half a post's height, px
const PAD = 8; // px between a column's edge and the first line

/** Draws everything that is kept for one side into its column. */
export function drawMarks(parent, frame, column, state, side) {
  for (const direction of DIRECTIONS) {
    const sign = direction === "internal" ? 1 : -1;
    const y = (along) => frame.y(sign * along);
    const change = changeOf(state, side, direction);
    if (change) drawBand(parent, column, y, change);
    PHASES.forEach((phase, half) => {
      const place = halfOf(column, half);
      drawLines(parent, place, y, kept(state, side, phase, direction), phase);
    });
    if (change) drawMeans(parent, column, y, change);
  }
}

/** The left half of a column is for before, the right half for after. */
function halfOf(column, half) {
  const width = column.width / 2 - 1.5 * PAD;
  return { x: column.x + PAD + half * (width + PAD), width };
}

/** One line per repetition, side by side in the order in which they came. */
function drawLines(parent, place, y, repetitions, phase) {
  const lane = place.width / Math.max(FEWEST, repetitions.length);
  repetitions.forEach((one, index) => {
    if (one.end_range_deg == null) return;
    const at = y(one.end_range_deg);
    const x = place.x + index * lane;
    const end = x + lane * 0.86;
    const line = (x1, x2) => add(parent, "line", { class: `mark ${phase}`, x1, x2, y1: at, y2: at });
    if (one.flags.includes("gap")) drawGap(parent, line, x, end, at);
    else line(x, end);
  });
}

/** A line with a hole between two posts: samples are missing within the movement. */
export function drawGap(parent, line, x, end, at) {
  const [left, right] = [x + (end - x) * 0.3, x + (end - x) * 0.7];
  line(x, left);
  line(right, end);
  for (const post of [left, right]) {
    add(parent, "line", { class: "post", x1: post, x2: post, y1: at - POST, y2: at + POST });
  }
}

/** The band around the baseline mean inside which a change cannot be told from error. */
function drawBand(parent, column, y, { baseline_mean_deg: mean, limit_deg: limit }) {
  if (mean == null || limit == null) return;
  const [one, other] = [y(mean - limit), y(mean + limit)];
  const box = { x: column.x + 1, width: column.width - 2, y: Math.min(one, other) };
  add(parent, "rect", { class: "band", ...box, height: Math.abs(one - other) });
}

function drawMeans(parent, column, y, change) {
  const before = change.baseline_mean_deg;
  const after = change.retest_mean_deg;
  const end = column.x + column.width;
  const across = (kind, x1, at) => add(parent, "line", { class: kind, x1, x2: end, y1: at, y2: at });
  if (before != null) across("mean baseline", column.x, y(before));
  if (after != null) across("mean retest", halfOf(column, 1).x, y(after));
}
