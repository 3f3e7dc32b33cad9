// What each step of a guided visit asks. Hands are free while any of this is shown.

import { button } from "./controls.js";
import { input, select, offer, tick } from "./forms.js";
import { noteForms } from "./notes.js";
import { day, words } from "./strings.js";
import { make } from "./view.js";

const text = words.course;
const WAYS = ["left", "right"].flatMap((side) =>
  ["internal", "external"].map((direction) => ({ side, direction })),
);

/** The form of a step; undefined where limb and pedal lead. `beside`: the gauge stays. */
export const formOf = (step) => FORMS[step];

const FORMS = {
  person: { make: person },
  cautions: { make: cautions },
  growth: { make: growth },
  consent: { make: consent },
  plan: { make: plan },
  sensors: { make: sensors, beside: true, alone: true },
  treatment: { make: noteForms, beside: true },
  settle: { make: settle, beside: true, anew: false },
  summary: { make: noteForms, beside: true },
};

/** Two codes of which one holds at a time. */
export class Exclusive {
  codes = [];

  set(codes) {
    this.codes = codes.filter(Boolean);
  }

  other(code) {
    return this.codes.find((one) => one !== code);
  }
}

/** The newest answer of a kind: of this visit, else of earlier ones. */
function told(sheet, what) {
  const newest = (answers) => answers.findLast((one) => one.what === what);
  return newest(sheet.answers) ?? newest(sheet.known);
}

/** A form that sends what `read` gives, and can be left out with a reason. */
function ask({ section, send }, read, go = text.go) {
  const form = make("form", "asked");
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    send(read());
  });
  section.append(form);
  const end = make("div", "choices");
  const submit = make("button", "ready", go);
  submit.type = "submit";
  end.append(submit);
  const leave = make("div", "leave");
  const reason = input(leave, text.reason);
  button(leave, text.leave, () => send({ what: "skip", reason: reason.value }));
  form.after(leave);
  return { form, end, finish: () => form.append(end) };
}

function person(place) {
  const { sheet, state, raters, send } = place;
  const before = told(sheet, "person") ?? {};
  const fields = {};
  const { form, finish } = ask(place, () => {
    const codes = [fields.rater.value.trim(), fields.second.value.trim()];
    raters.set(codes);
    if (codes[0]) send({ what: "rater", code: codes[0] });
    return {
      what: "person",
      code: fields.code.value.trim(),
      under_18: fields.young.checked,
      affected: fields.affected.value || null,
      barred: WAYS.filter((_, index) => fields.barred[index].checked),
    };
  });
  if (sheet.known_since) form.append(make("p", "", text.lastHere(day(sheet.known_since))));
  const row = form.appendChild(make("div", "fields"));
  fields.code = input(row, text.code);
  fields.code.value = state.visit.person;
  fields.code.required = true;
  fields.affected = select(row, text.affected);
  offer(fields.affected, [["", text.neither], ...Object.entries(words.sides)]);
  fields.affected.value = before.affected ?? "";
  fields.rater = input(row, text.rater);
  fields.second = input(row, text.second);
  fields.young = tick(form, text.under18);
  fields.young.checked = Boolean(before.under_18);
  const barred = group(form, text.barred);
  fields.barred = WAYS.map((way) => tick(barred, wayText(way)));
  fields.barred.forEach((one, index) => {
    one.checked = (before.barred ?? []).some((way) => same(way, WAYS[index]));
  });
  finish();
}

function cautions(place) {
  const { section, sheet, send } = place;
  section.append(make("p", "lead", text.cautionsLead));
  const asked = sheet.known.some((one) => one.what === "cautions");
  let parent = section;
  if (asked) {
    const since = button(section, text.nothingNew(day(sheet.known_since)), () =>
      send({ what: "nothing-new" }),
    );
    since.className = "ready one-key";
    since.autofocus = true;
    parent = section.appendChild(make("details"));
    parent.append(make("summary", "", text.somethingNew));
  }
  const before = told(sheet, "cautions") ?? {};
  const ticks = {};
  let looked;
  const { form, finish } = ask({ section: parent, send }, () => ({
    what: "cautions",
    apply: sheet.cautions.filter(({ caution }) => ticks[caution].checked).map((one) => one.caution),
    looked_at: looked.value,
  }), text.askedAll);
  const list = group(form, text.applies);
  list.classList.add("columns");
  for (const { caution, question } of sheet.cautions) {
    ticks[caution] = tick(list, question);
    ticks[caution].checked = (before.apply ?? []).includes(caution);
  }
  looked = input(form, text.lookedAt);
  looked.value = before.looked_at ?? "";
  finish();
}

function growth(place) {
  place.section.append(make("p", "lead", text.growthLead));
  let limp, pain, looked;
  const { form, finish } = ask(place, () => ({
    what: "growth",
    limp: limp.checked,
    knee_or_groin_pain: pain.checked,
    looked_at: looked.value,
  }));
  limp = tick(form, text.limp);
  pain = tick(form, text.groin);
  looked = input(form, text.lookedAt);
  finish();
}

function consent(place) {
  const { sheet } = place;
  const before = told(sheet, "consent") ?? {};
  const young = told(sheet, "person")?.under_18;
  const fields = {};
  const { form, finish } = ask(place, () => ({
    what: "consent",
    contact: fields.contact.checked,
    keeping: fields.keeping.checked,
    years: Math.min(255, Math.max(0, Math.trunc(Number(fields.years.value)) || 0)),
    research: fields.research.checked,
    guardian: Boolean(fields.guardian?.checked),
    child: Boolean(fields.child?.checked),
    agreed: fields.agreed.value,
  }));
  form.append(make("p", "lead", text.consentLead));
  fields.contact = tick(form, text.contact);
  fields.keeping = tick(form, text.keeping);
  fields.research = tick(form, text.research);
  if (young) {
    fields.guardian = tick(form, text.guardian);
    fields.child = tick(form, text.child);
  }
  const row = form.appendChild(make("div", "fields"));
  fields.years = input(row, text.years);
  fields.years.inputMode = "numeric";
  fields.years.value = before.years ?? 10;
  fields.agreed = input(row, text.agreed);
  fields.agreed.value = before.agreed ?? "";
  form.append(make("p", "", text.withdrawal));
  finish();
}

function plan(place) {
  const { sheet } = place;
  const before = told(sheet, "plan");
  const who = told(sheet, "person") ?? {};
  const open = WAYS.filter((way) => !(who.barred ?? []).some((one) => same(one, way)));
  const fields = {};
  const { form, finish } = ask(place, () => ({
    what: "plan",
    end_criterion: fields.end.value,
    primary: open[Number(fields.primary.value)],
    repetitions: Number(fields.count.value),
    warm_up: Number(fields.warm.value),
    by_chance: fields.order.value === "chance",
    short: fields.short.checked,
  }));
  const row = form.appendChild(make("div", "fields"));
  fields.end = select(row, text.end);
  offer(fields.end, Object.entries(text.ends));
  fields.end.value = before?.end_criterion ?? "first-resistance";
  fields.primary = select(row, text.primary);
  offer(fields.primary, open.map((way, index) => [String(index), wayText(way)]));
  const meant = before?.primary ?? { side: who.affected ?? "right", direction: "internal" };
  const at = open.findIndex((way) => same(way, meant));
  fields.primary.value = String(Math.max(0, at));
  fields.count = select(row, text.repetitions);
  offer(fields.count, [1, 2, 3, 4, 5, 6].map((count) => [String(count), String(count)]));
  fields.count.value = String(before?.repetitions ?? 3);
  fields.warm = select(row, text.warmUp);
  offer(fields.warm, [0, 1, 2, 3].map((count) => [String(count), String(count)]));
  fields.warm.value = String(before?.warm_up ?? 1);
  fields.order = select(row, text.order);
  offer(fields.order, Object.entries(text.orders));
  fields.order.value = before?.by_chance ? "chance" : "free";
  fields.short = tick(form, text.short);
  fields.short.checked = Boolean(before);
  form.append(make("p", "", text.force));
  finish();
}

/** How to put the sensors on, while it is seen whether they send. */
function sensors({ section, state, send }) {
  const shanks = state.sensors.filter((one) => one.role.endsWith("shank"));
  const list = section.appendChild(make("ul", "guide"));
  const lines = shanks.length < 2 ? [...text.placing, text.oneSensor] : text.placing;
  list.append(...lines.map((line) => make("li", "", line)));
  button(section, text.begin, () => send({ what: "next" })).className = "ready";
}

/** What may differ from baseline, while the legs lie. */
function settle(place) {
  const { section, sheet, send } = place;
  section.append(make("p", "lead", text.sameLead));
  const row = section.appendChild(make("div", "fields"));
  const before = told({ ...sheet, known: [] }, "same") ?? {};
  const fields = Object.entries(text.same).map(([name, label]) => {
    const field = select(row, label);
    offer(field, Object.entries(text.sameAs));
    field.value = before[name] == null ? "" : String(before[name]);
    field.addEventListener("change", () => send(answer()));
    return [name, field];
  });
  const value = { "": null, true: true, false: false };
  const answer = () => ({
    what: "same",
    ...Object.fromEntries(fields.map(([name, field]) => [name, value[field.value]])),
  });
  button(section, text.allSame, () => {
    for (const [, field] of fields) field.value = "true";
    send(answer());
  }).className = "ready";
  noteForms(place);
}

const same = (one, other) => one.side === other.side && one.direction === other.direction;
const wayText = ({ side, direction }) =>
  `${words.sides[side]}, ${words.directions[direction]} (${words.feet[direction]})`;

function group(parent, title) {
  const made = parent.appendChild(make("fieldset"));
  made.append(make("legend", "", title));
  return made;
}
