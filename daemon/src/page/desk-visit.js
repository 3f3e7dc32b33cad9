// One visit: what can be said, its repetitions with their movements, notes, and what was put right.

import { amendForm, notesForm } from "./desk-amend.js";
import { ask, tell } from "./desk-ask.js";
import { CurveView, sketch } from "./desk-curve.js";
import { link } from "./desk-list.js";
import { table } from "./desk-table.js";
import { angle, capital, change, language, moment, plain, seconds, t, way, word } from "./desk-words.js";
import { make } from "./view.js";

/** A visit; `say` tells what came of what was done. */
export async function drawVisit(id, say) {
  const path = `/api/visits/${encodeURIComponent(id)}`;
  const [sheet, curves] = await Promise.all([ask(`${path}/sheet`), ask(`${path}/curves`)]);
  const drawn = make("div", "visit");
  const draw = (now) => drawn.replaceChildren(...parts(now, curves, path, amend));
  const amend = async (request, done) => {
    try {
      draw(await tell(`${path}/amend`, request));
      say(done);
    } catch (error) {
      say(error.message);
    }
  };
  draw(sheet);
  const person = [`#person/${encodeURIComponent(sheet.person)}`, sheet.person];
  return {
    title: t("desk.visit.title", { person: sheet.person, date: moment(sheet.started_at) }),
    way: [person],
    parts: [drawn],
  };
}

function parts(sheet, curves, path, amend) {
  const about = `${capital(word("test", sheet.test))} · ${word("state", sheet.state)}`;
  return [
    make("p", "about", about),
    reports(path),
    make("h2", "", t("report.heading.said")),
    verdicts(sheet),
    make("h2", "", t("desk.visit.repetitions")),
    make("p", "", t("desk.visit.how")),
    ...repetitions(sheet, curves, path, amend),
    make("h2", "", t("report.heading.notes")),
    notesForm(sheet.notes ?? "", amend),
    make("h2", "", t("desk.audit.title")),
    audit(sheet),
  ];
}

/** Links to the report, for either reader. */
function reports(path) {
  const list = make("p", "reports", `${t("desk.report")} `);
  for (const whom of ["record", "person"]) {
    for (const [kind, paper] of [["HTML", ""], ["PDF", "&paper=a4"]]) {
      const to = `${path}/report?for=${whom}&lang=${language}${paper}`;
      const made = link(to, `${t(`desk.report.${whom}`)} (${kind})`);
      made.setAttribute("download", "");
      list.append(made, " ");
    }
  }
  return list;
}

function verdicts(sheet) {
  if (sheet.verdicts.length === 0) return make("p", "", t("report.none"));
  const columns = ["what", "change", "interval", "limit"].map((name) => t(`table.${name}`));
  const rows = sheet.verdicts.map((one) => {
    const [low, high] = one.ci95_deg ?? [];
    return [
      t("table.name", { side: word("side", one.side), direction: way(one.direction) }),
      change(one.change_deg),
      one.ci95_deg ? t("table.range", { low: change(low), high: change(high) }) : t("nothing"),
      one.change_deg == null ? t("nothing") : `±${angle(one.mdc95_deg)}`,
      statement(one),
    ];
  });
  const box = table([...columns, t("report.heading.said")], rows);
  box.classList.add("verdicts");
  return box;
}

/** What can be said: as it was made, or in another language its gist. */
function statement(one) {
  const key = { "exceeds-error": "exceeds", "within-error": "within" }[one.finding] ?? "none";
  if (language === "en") return one.statement;
  const places = { change: change(one.change_deg), limit: angle(one.mdc95_deg), original: one.statement };
  return capital(t(`report.statement.${key}`, places));
}

/** Each repetition opens under its line. */
function repetitions(sheet, curves, path, amend) {
  return sheet.repetitions.map((one) => {
    const curve = curves.find((other) => other.repetition === one.id);
    const made = make("details", one.struck_out ? "repetition struck" : "repetition");
    made.dataset.repetition = one.id;
    const line = make("summary");
    line.append(
      make("span", "name", name(one)),
      make("span", "value", `${angle(one.end_range_deg)} ± ${angle(one.uncertainty_deg)}`),
      make("span", "hold", t("desk.visit.hold", { hold: seconds(one.hold_s) })),
      sketch(curve, one),
    );
    if (one.struck_out) line.append(make("span", "reason", t("desk.visit.struck", { reason: one.struck_out })));
    made.append(line);
    made.addEventListener("toggle", () => fill(made, one, curve, path, amend), { once: true });
    return made;
  });
}

function name(one) {
  const places = { phase: word("phase", one.phase), side: word("side", one.side), direction: way(one.direction), number: one.number };
  return capital(t("desk.visit.name", places));
}

function fill(parent, one, curve, path, amend) {
  const facts = make("p", "facts");
  const flags = one.flags.map((flag) => word("flag", flag)).join(", ") || t("report.method.flags.none");
  const knee = one.knee_flexion_deg == null ? t("nothing") : `${plain(one.knee_flexion_deg, 0)}°`;
  facts.textContent = t("desk.visit.facts", { knee, flags, time: plain(one.end_range_at_s, 1) });
  parent.append(facts);
  if (curve && curve.time_s.length > 1) {
    new CurveView(parent, curve, one, () => ask(`${path}/repetitions/${one.id}/raw`));
  } else {
    parent.append(make("p", "", t("desk.curve.none")));
  }
  parent.append(amendForm(one, amend));
}

function audit(sheet) {
  if (sheet.audit.length === 0) return make("p", "", t("desk.audit.none"));
  const columns = ["when", "what", "to", "why", "who"].map((name) => t(`desk.column.${name}`));
  const rows = sheet.audit.map((one) => [
    moment(one.at),
    word("desk.action", one.action),
    subject(one.subject),
    one.detail ?? "",
    one.actor ?? t("nothing"),
  ]);
  return table(columns, rows);
}

/** The repetition's number out of an entry's subject, or the visit. */
function subject(text) {
  const number = /repetition (\d+)/.exec(text)?.[1];
  return number ? t("desk.audit.repetition", { number }) : t("desk.audit.visit");
}
