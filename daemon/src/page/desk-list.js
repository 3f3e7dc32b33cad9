// Everybody with a visit, and all visits.

import { ask } from "./desk-ask.js";
import { table } from "./desk-table.js";
import { moment, t, word } from "./desk-words.js";
import { make } from "./view.js";

/** All visits, newest first, and a way to each person's. */
export async function drawList() {
  const visits = await ask("/api/visits");
  if (visits.length === 0) {
    return { title: t("desk.title"), parts: [make("p", "", t("desk.none"))] };
  }
  const columns = ["person", "started", "state", "visit"].map((name) => t(`desk.column.${name}`));
  const rows = visits.map((visit) => [
    link(`#person/${encodeURIComponent(visit.person)}`, visit.person),
    moment(visit.started_at),
    word("state", visit.state),
    link(`#visit/${visit.id}`, t("desk.open-visit", { visit: visit.id })),
  ]);
  return { title: t("desk.title"), parts: [make("p", "", t("desk.how")), table(columns, rows)] };
}

/** A link in the desk. */
export function link(to, text) {
  const made = make("a", "", text);
  made.href = to;
  return made;
}
