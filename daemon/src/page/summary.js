// What is shown when the visit has ended: before against after, and what can be said of it.

import { angle, change, limit, words } from "./strings.js";
import { DIRECTIONS, SIDES, changeOf, make } from "./view.js";

/** Fills and shows the summary once the visit has ended; draws again only when it changed. */
export function drawSummary(section, state) {
  section.hidden = !state.ended;
  const wanted = state.ended ? JSON.stringify(state.changes) : "";
  if (section.dataset.drawn === wanted) return;
  section.dataset.drawn = wanted;
  section.replaceChildren();
  if (!state.ended) return;
  section.append(make("h2", "", words.summary.title));
  const rows = SIDES.flatMap((side) => rowsOf(state, side));
  if (!rows.length) {
    section.append(make("p", "", words.summary.none));
    return;
  }
  section.append(tableOf(rows), make("p", "note", words.summary.limit));
}

/** The rows of one side: each direction, and both together. */
function rowsOf(state, side) {
  const changes = DIRECTIONS.map((direction) => changeOf(state, side, direction)).filter(Boolean);
  const rows = changes.map((one) => [
    words.sides[side],
    words.directions[one.direction],
    angle(one.baseline_mean_deg),
    angle(one.retest_mean_deg),
    change(one.change_deg),
    limit(one.limit_deg),
    one.statement,
  ]);
  return changes.length === DIRECTIONS.length ? [...rows, totalRow(side, changes)] : rows;
}

/** Internal and external rotation together, which the tilt of the table does not shift. */
function totalRow(side, changes) {
  const sum = (field) => {
    const parts = changes.map((one) => one[field]);
    return parts.some((part) => part == null) ? null : parts.reduce((a, b) => a + b, 0);
  };
  return [
    words.sides[side],
    words.total,
    angle(sum("baseline_mean_deg")),
    angle(sum("retest_mean_deg")),
    change(sum("change_deg")),
    words.nothing,
    words.summary.total,
  ];
}

function tableOf(rows) {
  // The roles are said outright: on a narrow page a row is laid out as a grid, and would lose its own.
  const table = make("table");
  table.role = "table";
  const head = table.createTHead().insertRow();
  head.role = "row";
  for (const name of words.summary.columns) {
    const cell = make("th", "", name);
    cell.scope = "col";
    cell.role = "columnheader";
    head.append(cell);
  }
  const body = table.createTBody();
  for (const texts of rows) {
    const row = body.insertRow();
    row.role = "row";
    for (const text of texts) {
      const cell = row.insertCell();
      cell.role = "cell";
      cell.textContent = text;
    }
  }
  return table;
}
