// One leg's panel: the live figure outside the columns, and what is known about the leg.

import {
  angle, change, countOf, justKept, keptHere, knee, limit, oldFor, pelvis, uncertainty, words,
} from "./strings.js";
import { DIRECTIONS, changeOf, kept, legOf, make, setText } from "./view.js";

const SHOWN_MS = 2500; // how long a panel says that a repetition was just kept
const SLACK = 0.7; // the shown whole degree stays until the angle is this far from it

/** The panel of one side. */
export class Panel {
  constructor(section, side) {
    this.section = section;
    this.side = side;
    this.degree = null;
    this.keptAt = -Infinity;
    const heading = make("h2", "", words.legs[side]);
    this.figure = make("p", "figure");
    this.way = make("p", "facing");
    this.facts = make("p", "facts");
    this.kept = make("p", "kept");
    this.notice = make("p", "notice");
    this.table = new Means();
    const now = make("div", "now");
    now.append(this.figure, this.way, this.facts);
    const rest = make("div", "rest");
    rest.append(this.table.element, this.kept, this.notice);
    section.append(heading, now, rest);
  }

  /** Says for a moment that a repetition was kept. */
  justKept(direction, now) {
    this.keptAt = now;
    this.keptWay = direction;
  }

  /** Draws the newest state; `age` is the age of this leg's data, s, `old` whether that is too old. */
  draw(state, hidden, { age, old }, now) {
    const leg = legOf(state, this.side);
    const counts = this.counts(state);
    const live = leg?.state === "ready" && leg.raised && !state.ended;
    this.section.classList.toggle("old", old && live);
    this.section.classList.toggle("in-hand", live);
    if (live) this.drawLive(leg, hidden, counts);
    else this.drawIdle(leg, state);
    if (old && !state.ended) setText(this.way, oldFor(age));
    else if (now - this.keptAt < SHOWN_MS) setText(this.way, justKept(this.keptWay));
    this.table.element.hidden = hidden;
    this.table.draw(state, this.side);
    setText(this.kept, counts ? keptHere(counts.internal, counts.external) : "");
    setText(this.notice, state.ended ? "" : (leg?.notice ?? ""));
  }

  /** The leg in the hands: its angle, or only the count while angles are hidden. */
  drawLive(leg, hidden, counts) {
    const degree = hidden ? null : this.steady(leg.angle_deg);
    const count = counts ? counts.internal + counts.external : 0;
    setText(this.figure, hidden ? countOf(count) : figureOf(degree));
    setText(this.way, hidden ? words.keptUnit : wayAt(degree));
    const facts = [
      leg.uncertainty_deg != null && uncertainty(leg.uncertainty_deg),
      leg.knee_flexion_deg != null && knee(leg.knee_flexion_deg),
      leg.pelvis_roll_deg != null && pelvis(leg.pelvis_roll_deg),
    ];
    setText(this.facts, facts.filter(Boolean).join("\n"));
  }

  drawIdle(leg, state) {
    this.degree = null;
    setText(this.figure, words.nothing);
    const waiting = { "no-data": words.noData, "not-aligned": words.notAligned };
    const idle = state.ended ? "" : words.lying;
    setText(this.way, leg ? (waiting[leg.state] ?? idle) : words.noData);
    setText(this.facts, "");
  }

  /** Whole degrees that do not flicker between two neighbours. */
  steady(degrees) {
    const far = this.degree == null || degrees == null || Math.abs(degrees - this.degree) > SLACK;
    if (far) this.degree = degrees == null ? null : Math.round(degrees);
    return this.degree;
  }

  /** Repetitions kept in the present phase; null outside baseline and retest. */
  counts(state) {
    if (state.phase !== "baseline" && state.phase !== "retest") return null;
    const count = (direction) => kept(state, this.side, state.phase, direction).length;
    return { internal: count("internal"), external: count("external") };
  }
}

const figureOf = (degree) => (degree == null ? words.nothing : `${Math.abs(degree)}°`);

function wayAt(degree) {
  if (degree == null) return words.noData;
  if (degree === 0) return words.neutral;
  return words.directions[degree > 0 ? "internal" : "external"];
}

/** Before, after, change and limit of both directions. */
class Means {
  constructor() {
    this.element = make("table", "means");
    this.drawn = "";
  }

  draw(state, side) {
    const changes = DIRECTIONS.map((direction) => changeOf(state, side, direction));
    const wanted = JSON.stringify(changes);
    if (wanted === this.drawn) return;
    this.drawn = wanted;
    this.element.replaceChildren();
    if (!changes.some(Boolean)) return;
    const heads = DIRECTIONS.map((direction) => words.directions[direction]);
    this.row("th", "", heads);
    const { rows } = words;
    this.row("td", rows.before, changes.map((one) => angle(one?.baseline_mean_deg)));
    this.row("td", rows.after, changes.map((one) => angle(one?.retest_mean_deg)));
    this.row("td", rows.change, changes.map((one) => change(one?.change_deg)));
    this.row("td", rows.limit, changes.map((one) => limit(one?.limit_deg)));
  }

  row(kind, head, cells) {
    const row = make("tr");
    const first = make(head ? "th" : "td", "", head);
    if (head) first.scope = "row";
    row.append(first, ...cells.map((text) => make(kind, "", text)));
    this.element.append(row);
  }
}
