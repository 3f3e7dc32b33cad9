// A table whose first column names the row.

import { make } from "./view.js";

/** A table in a box that scrolls where it is wider than the window. Cells are texts or elements. */
export function table(columns, rows, label = "") {
  const made = make("table");
  const head = make("tr");
  for (const name of columns) {
    const cell = make("th", "", name);
    cell.scope = "col";
    head.append(cell);
  }
  made.createTHead().append(head);
  const body = made.createTBody();
  for (const cells of rows) body.append(row(cells));
  const box = make("div", "wide");
  box.tabIndex = 0;
  box.setAttribute("role", "group");
  box.setAttribute("aria-label", label || columns.join(", "));
  box.append(made);
  return box;
}

function row(cells) {
  const made = make("tr");
  cells.forEach((content, place) => {
    const cell = make(place === 0 ? "th" : "td");
    if (place === 0) cell.scope = "row";
    cell.append(content);
    made.append(cell);
  });
  return made;
}
