// A person's visits over time: the end range per direction and leg, before and after, with error bars.

import { ask } from "./desk-ask.js";
import { link } from "./desk-list.js";
import { table } from "./desk-table.js";
import { angle, capital, day, plain, t, way, word } from "./desk-words.js";
import { add } from "./svg.js";
import { make } from "./view.js";

const PHASES = ["baseline", "retest"];

/** The visits of a person; each test by itself, because positions are never compared. */
export async function drawHistory(person) {
  const visits = await ask(`/api/people/${encodeURIComponent(person)}/visits`);
  const parts = [make("p", "", t("desk.history.how"))];
  for (const test of new Set(visits.map((one) => one.test))) {
    const own = visits.filter((one) => one.test === test && one.means.length > 0);
    if (own.length === 0) continue;
    parts.push(make("h2", "", capital(word("test", test))), legend(), charts(own), figures(own));
  }
  if (parts.length === 1) parts[0] = make("p", "", t("desk.history.none"));
  return { title: t("desk.history.title", { person }), parts };
}

function legend() {
  const list = make("ul", "legend");
  for (const phase of PHASES) {
    const item = make("li");
    const picture = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    picture.setAttribute("viewBox", "0 0 20 20");
    picture.setAttribute("aria-hidden", "true");
    mark(picture, 10, 10, phase);
    item.append(picture, ` ${capital(word("phase", phase))}`);
    list.append(item);
  }
  list.append(make("li", "", t("desk.history.bar")));
  return list;
}

/** One drawing per leg, both on one scale. */
function charts(visits) {
  const means = visits.flatMap((visit) => visit.means).filter((mean) => mean.direction);
  const reach = Math.max(40, ...means.map((mean) => mean.mean_deg + (mean.half95_deg ?? 0)));
  const twoWay = means.some((mean) => mean.direction === "external");
  const box = make("div", "legs");
  for (const side of ["left", "right"]) {
    if (means.some((mean) => mean.side === side)) box.append(chart(visits, side, reach, twoWay));
  }
  return box;
}

const LEFT = 44;
const STEP = 96;
const HIGH = 340;
const TOP = 12;
const BOTTOM = 34;

function chart(visits, side, reach, twoWay) {
  const figure = make("figure");
  figure.append(make("figcaption", "", word("leg", side)));
  const wide = LEFT + Math.max(3, visits.length) * STEP;
  const picture = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  const up = Math.ceil(reach / 10) * 10;
  const down = twoWay ? -up : 0;
  const y = (degrees) => TOP + ((up - degrees) / (up - down)) * (HIGH - TOP - BOTTOM);
  picture.setAttribute("viewBox", `0 0 ${wide} ${HIGH}`);
  picture.setAttribute("role", "img");
  picture.setAttribute("aria-label", aloud(visits, side));
  for (let degrees = down; degrees <= up; degrees += 10) {
    const line = { x1: LEFT, x2: wide, y1: y(degrees), y2: y(degrees) };
    add(picture, "line", { class: degrees === 0 ? "rule zero" : "rule", ...line });
    add(picture, "text", { class: "degrees", x: LEFT - 8, y: y(degrees) + 5 }, `${Math.abs(degrees)}°`);
  }
  const ways = twoWay ? ["internal", "external"] : [visits[0].means[0].direction];
  for (const direction of ways) {
    const at = y(0) + (direction === "external" ? 20 : -9);
    add(picture, "text", { class: "way", x: LEFT + 8, y: at }, word("way", direction));
    drawWay(picture, visits, side, direction, y);
  }
  visits.forEach((visit, place) => {
    const at = { class: "date", x: middle(place), y: HIGH - 10 };
    add(picture, "text", at, day(visit.started_at));
  });
  figure.append(picture);
  return figure;
}

const middle = (place) => LEFT + (place + 0.5) * STEP;

function drawWay(picture, visits, side, direction, y) {
  const sign = direction === "external" ? -1 : 1;
  visits.forEach((visit, place) => {
    const found = PHASES.map((phase) => meanOf(visit, side, phase, direction));
    found.forEach((mean, number) => {
      if (!mean) return;
      const x = middle(place) + (number === 0 ? -15 : 15);
      const at = y(sign * mean.mean_deg);
      if (mean.half95_deg != null) {
        const ends = [mean.mean_deg + mean.half95_deg, mean.mean_deg - mean.half95_deg];
        bar(picture, x, ends.map((end) => y(sign * end)), PHASES[number]);
      }
      mark(picture, x, at, PHASES[number]);
    });
  });
}

const meanOf = (visit, side, phase, direction) =>
  visit.means.find(
    (one) => one.side === side && one.phase === phase && one.direction === direction,
  );

function bar(picture, x, [high, low], phase) {
  const line = (x1, x2, y1, y2) => add(picture, "line", { class: `bar ${phase}`, x1, x2, y1, y2 });
  line(x, x, high, low);
  line(x - 5, x + 5, high, high);
  line(x - 5, x + 5, low, low);
}

/** A hollow diamond for baseline, a full disc for retest. */
function mark(picture, x, y, phase) {
  if (phase === "baseline") {
    const corners = [[0, -7], [7, 0], [0, 7], [-7, 0]].map(([dx, dy]) => `${x + dx},${y + dy}`);
    add(picture, "polygon", { class: "mean-mark baseline", points: corners.join(" ") });
  } else {
    add(picture, "circle", { class: "mean-mark retest", cx: x, cy: y, r: 6 });
  }
}

/** The drawing in one sentence, for those who do not see it. */
function aloud(visits, side) {
  const numbers = visits.map((visit) => {
    const own = visit.means.filter((one) => one.side === side && one.direction);
    const all = own.map(
      (one) => `${way(one.direction)} ${word("phase", one.phase)} ${angle(one.mean_deg)}`,
    );
    return `${day(visit.started_at)}: ${all.join(", ")}`;
  });
  return `${word("leg", side)}. ${numbers.join(". ")}`;
}

/** The numbers of the drawings. */
function figures(visits) {
  const columns = ["visit", "leg", "direction", "baseline", "retest"];
  const rows = visits.flatMap((visit) => rowsOf(visit));
  return table(columns.map((name) => t(`desk.column.${name}`)), rows);
}

function rowsOf(visit) {
  const keys = new Map(visit.means.map((one) => [`${one.side} ${one.direction}`, one]));
  return [...keys.values()].map(({ side, direction }) => [
    link(`#visit/${visit.id}`, day(visit.started_at)),
    word("side", side),
    way(direction),
    ...PHASES.map((phase) => told(meanOf(visit, side, phase, direction))),
  ]);
}

function told(mean) {
  if (!mean) return t("nothing");
  const places = { mean: angle(mean.mean_deg), count: plain(mean.count, 0) };
  if (mean.half95_deg == null) return t("table.mean-alone", places);
  return t("table.mean", { ...places, half: angle(mean.half95_deg) });
}
