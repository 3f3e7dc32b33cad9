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
  const title = make("h2", "", words.summary.title);
  title.id = "summary-title";
  section.append(title);
  const rows = SIDES.flatMap((side) => rowsOf(state, side));
  if (!rows.length) {
    section.append(make("p", "", words.summary.none));
    return;
  }
  section.append(tableOf(rows), make("p", "note", words.summary.limit));
}

/** The rows of one side: each direction, and both together. */
function rowsOf(state, side) {
  const compared = [...DIRECTIONS, "total"];
  const changes = compared.map((direction) => changeOf(state, side, direction)).filter(Boolean);
  return changes.map((one) => [
    words.sides[side],
    words.directions[one.direction],
    angle(one.baseline_mean_deg),
    angle(one.retest_mean_deg),
    change(one.change_deg),
    limit(one.limit_deg),
    one.statement,
  ]);
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
