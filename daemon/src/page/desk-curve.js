// A movement over time: the angle, or the raw readings it comes from; nearer, wider, earlier, later.

import { angle, capital, plain, seconds, t } from "./desk-words.js";
import { add } from "./svg.js";
import { make } from "./view.js";

const SPACE = "http://www.w3.org/2000/svg";
const WIDE = 720;
const HIGH = 300;
const LEFT = 56;
const BOTTOM = 34;
const TOP = 14;

/** A small picture of a movement. */
export function sketch(curve, repetition) {
  const picture = document.createElementNS(SPACE, "svg");
  picture.setAttribute("viewBox", "0 0 160 40");
  picture.setAttribute("class", "sketch");
  picture.setAttribute("aria-hidden", "true");
  if (!curve || curve.time_s.length < 2) return picture;
  const frame = frameOf(curve.time_s, [curve.angle_deg], [curve.time_s[0], curve.time_s.at(-1)]);
  const x = (time) => frame.x(time) * 160;
  const y = (value) => 37 - frame.y(value) * 34;
  const at = repetition.end_range_at_s;
  add(picture, "line", { class: "end", x1: x(at), x2: x(at), y1: 0, y2: 40 });
  add(picture, "polyline", { class: "curve", points: points(curve.time_s, curve.angle_deg, x, y) });
  return picture;
}

/** The movement in full, with its buttons. `raw` fetches the raw readings. */
export class CurveView {
  constructor(parent, curve, repetition, raw) {
    this.curve = curve;
    this.repetition = repetition;
    this.fetchRaw = raw;
    this.whole = [curve.time_s[0], curve.time_s.at(-1)];
    this.span = [...this.whole];
    this.picture = document.createElementNS(SPACE, "svg");
    this.picture.setAttribute("viewBox", `0 0 ${WIDE} ${HIGH}`);
    this.picture.setAttribute("role", "img");
    this.picture.setAttribute("class", "movement");
    const buttons = make("div", "buttons");
    for (const [name, how] of Object.entries(MOVES)) {
      const button = make("button", "", t(`desk.curve.${name}`));
      button.addEventListener("click", () => this.move(how));
      buttons.append(button);
    }
    this.toggle = make("button", "", t("desk.curve.raw"));
    this.toggle.setAttribute("aria-pressed", "false");
    this.toggle.addEventListener("click", () => this.switchRaw());
    buttons.append(this.toggle);
    parent.append(this.picture, buttons);
    this.draw();
  }

  move(how) {
    const [from, to] = how(this.span[0], this.span[1]);
    const length = Math.min(to - from, this.whole[1] - this.whole[0]);
    if (length < 0.2) return;
    const start = Math.min(Math.max(from, this.whole[0]), this.whole[1] - length);
    this.span = [start, start + length];
    this.draw();
  }

  async switchRaw() {
    this.rawShown = !this.rawShown;
    if (this.rawShown) this.raw ??= await this.fetchRaw();
    this.toggle.setAttribute("aria-pressed", String(this.rawShown));
    this.draw();
  }

  draw() {
    this.picture.replaceChildren();
    const lines = this.rawShown
      ? this.raw.accel_m_s2.map((values, axis) => [values, `axis-${axis}`])
      : [[this.curve.angle_deg, "curve"]];
    const times = this.rawShown ? this.raw.time_s : this.curve.time_s;
    const frame = frameOf(times, lines.map(([values]) => values), this.span);
    const x = (time) => LEFT + frame.x(time) * (WIDE - LEFT - 8);
    const y = (value) => HIGH - BOTTOM - frame.y(value) * (HIGH - BOTTOM - TOP);
    this.scales(frame, x, y);
    this.hold(x);
    for (const [values, name] of lines) {
      const kept = times.map((time, at) => [time, values[at]]).filter(([time]) => inside(time, this.span));
      const path = kept.map(([time, value]) => `${round(x(time))},${round(y(value))}`).join(" ");
      add(this.picture, "polyline", { class: `curve ${name}`, points: path });
    }
    const what = this.rawShown ? t("desk.curve.raw-what") : t("desk.curve.what");
    add(this.picture, "text", { class: "what", x: LEFT + 6, y: TOP + 14 }, what);
    const { end_range_deg, hold_s } = this.repetition;
    const places = { angle: angle(end_range_deg), hold: seconds(hold_s) };
    this.picture.setAttribute("aria-label", `${capital(what)}. ${t("desk.curve.aloud", places)}`);
  }

  /** Where the end was held. */
  hold(x) {
    const { end_range_at_s: at, hold_s } = this.repetition;
    // The moment that is told is the middle of the hold.
    const [from, to] = [
      Math.max(at - hold_s / 2, this.span[0]),
      Math.min(at + hold_s / 2, this.span[1]),
    ];
    const box = { y: TOP, height: HIGH - BOTTOM - TOP };
    if (to > from) add(this.picture, "rect", { class: "held", x: x(from), width: x(to) - x(from), ...box });
    if (inside(at, this.span)) {
      add(this.picture, "line", { class: "end", x1: x(at), x2: x(at), y1: TOP, y2: HIGH - BOTTOM });
    }
  }

  scales(frame, x, y) {
    for (const value of frame.marks) {
      add(this.picture, "line", { class: value === 0 ? "rule zero" : "rule", x1: LEFT, x2: WIDE - 8, y1: y(value), y2: y(value) });
      const text = this.rawShown ? plain(value, 0) : `${plain(value, 0)}°`;
      add(this.picture, "text", { class: "degrees", x: LEFT - 8, y: y(value) + 5 }, text);
    }
    const [from, to] = this.span;
    const step = [0.1, 0.2, 0.5, 1, 2, 5, 10].find((one) => (to - from) / one <= 10) ?? 30;
    for (let time = Math.ceil(from / step) * step; time <= to; time += step) {
      add(this.picture, "text", { class: "date", x: x(time), y: HIGH - 12 }, plain(time, step < 1 ? 1 : 0));
    }
    add(this.picture, "text", { class: "unit", x: LEFT - 8, y: HIGH - 12 }, "s");
  }
}

const MOVES = {
  closer: (from, to) => scaled(from, to, 0.6),
  wider: (from, to) => scaled(from, to, 1 / 0.6),
  earlier: (from, to) => [from - (to - from) / 4, to - (to - from) / 4],
  later: (from, to) => [from + (to - from) / 4, to + (to - from) / 4],
};

function scaled(from, to, by) {
  const [middle, half] = [(from + to) / 2, ((to - from) / 2) * by];
  return [middle - half, middle + half];
}

const inside = (time, [from, to]) => time >= from && time <= to;
const round = (value) => Math.round(value * 10) / 10;
const points = (times, values, x, y) =>
  times.map((time, at) => `${round(x(time))},${round(y(values[at]))}`).join(" ");

/** Scales from time and value to 0…1, and the values to mark. */
function frameOf(times, lines, span) {
  let [low, high] = [Infinity, -Infinity];
  times.forEach((time, at) => {
    if (!inside(time, span)) return;
    for (const values of lines) {
      low = Math.min(low, values[at]);
      high = Math.max(high, values[at]);
    }
  });
  if (!Number.isFinite(low)) [low, high] = [-1, 1];
  const step = [0.5, 1, 2, 5, 10, 20, 50].find((one) => (high - low) / one <= 7) ?? 100;
  const [bottom, top] = [Math.floor(low / step) * step, Math.max(Math.ceil(high / step), Math.floor(low / step) + 1) * step];
  const marks = [];
  for (let value = bottom; value <= top + step / 2; value += step) marks.push(value);
  return {
    marks,
    x: (time) => (time - span[0]) / (span[1] - span[0]),
    y: (value) => (value - bottom) / (top - bottom),
  };
}
