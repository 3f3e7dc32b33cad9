// Putting something right: always with a reason, which is kept.

import { t, word } from "./desk-words.js";
import { make } from "./view.js";

/** What can be done with a repetition. `amend(request, done)` does it. */
export function amendForm(one, amend) {
  const form = make("form", "amend");
  const reason = field(form, t("desk.amend.reason"), make("input"));
  const by = field(form, t("desk.amend.by"), make("input"));
  reason.required = true;
  reason.maxLength = 500;
  by.maxLength = 32;
  const phase = field(form, t("desk.amend.phase"), make("select"));
  for (const name of ["baseline", "treatment", "retest"]) {
    phase.append(new Option(word("phase", name), name, false, name === one.phase));
  }
  const send = (change, done) => {
    if (!form.reportValidity()) return;
    amend({ ...change, repetition: one.id, reason: reason.value, by: by.value || null }, done);
  };
  const act = (key, change) => {
    const button = make("button", "", t(`desk.amend.${key}`));
    button.type = "button";
    button.dataset.change = key;
    button.addEventListener("click", () => send(change(), t(`desk.amend.${key}.done`)));
    form.append(button);
  };
  if (one.struck_out) act("restore", () => ({ change: "restore" }));
  else act("strike-out", () => ({ change: "strike-out" }));
  act("relabel", () => ({ change: "relabel", phase: phase.value }));
  form.addEventListener("submit", (event) => event.preventDefault());
  return form;
}

/** The visit's notes. */
export function notesForm(text, amend) {
  const form = make("form", "notes");
  const notes = field(form, t("desk.notes"), make("textarea"));
  notes.value = text;
  notes.rows = 3;
  notes.maxLength = 2000;
  const button = make("button", "", t("desk.notes.keep"));
  form.append(button);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    amend({ change: "notes", text: notes.value }, t("desk.notes.done"));
  });
  return form;
}

function field(form, label, made) {
  const around = make("label", "", label);
  around.append(made);
  form.append(around);
  return made;
}
