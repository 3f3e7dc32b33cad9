// Cards with fields, as the section for sensors and tables is made of.

import { make } from "./view.js";

/** A card with a heading and what to do. */
export function card(parent, { title, how }) {
  const made = make("section", "card");
  made.append(make("h3", "", title), make("p", "", how));
  parent.append(made);
  return made;
}

function labelled(parent, label, field) {
  const made = make("label", "", label);
  made.append(field);
  parent.append(made);
  return field;
}

/** A field to choose from. */
export const select = (parent, label) => labelled(parent, label, make("select"));
/** A field to type into. */
export const input = (parent, label) => labelled(parent, label, make("input"));

/** A box to tick, before its words. */
export function tick(parent, label) {
  const made = make("label", "tick");
  const box = make("input");
  box.type = "checkbox";
  made.append(box, make("span", "", label));
  parent.append(made);
  return box;
}

/** Fills a field with choices, each a value and its words; what was chosen stays so. */
export function offer(field, choices) {
  const wanted = JSON.stringify(choices);
  if (field.dataset.drawn === wanted) return;
  field.dataset.drawn = wanted;
  const chosen = field.value;
  field.replaceChildren(
    ...choices.map(([value, words]) => {
      const option = make("option", "", words);
      option.value = value;
      return option;
    }),
  );
  if (choices.some(([value]) => value === chosen)) field.value = chosen;
}
