// What can be noted once the leg is down; all of it may be left out, or come later.

import { button } from "./controls.js";
import { input, offer, select } from "./forms.js";
import { words } from "./strings.js";
import { make, setText } from "./view.js";

const text = words.notes;
const DIRECTIONS = ["internal", "external"];

/** Pain, how an end felt, what was done, and notes in words. */
export function noteForms({ section, send, state }) {
  const more = section.appendChild(make("details", "notes"));
  more.append(make("summary", "", text.title));
  const said = make("p", "said");
  said.setAttribute("role", "status");
  const keep = async (answer, what) => {
    if (await send(answer)) setText(said, text.noted(what));
  };
  pain(more, keep);
  end(more, keep, state.phase);
  technique(more, keep);
  inWords(more, keep);
  withdraw(more, send);
  more.append(said);
}

function pain(parent, keep) {
  const row = parent.appendChild(make("fieldset", "pain"));
  row.append(make("legend", "", text.pain));
  for (let rating = 0; rating <= 10; rating += 1) {
    button(row, String(rating), () => keep({ what: "pain", rating }, text.painIs(rating)));
  }
}

function end(parent, keep, phase) {
  const row = parent.appendChild(make("fieldset", "fields"));
  row.append(make("legend", "", text.end));
  const side = select(row, text.side);
  offer(side, Object.entries(words.sides));
  const direction = select(row, text.direction);
  offer(direction, DIRECTIONS.map((one) => [one, words.directions[one]]));
  const feel = select(row, text.feel);
  offer(feel, [["", words.nothing], ...Object.entries(text.feels)]);
  const stopped = input(row, text.stoppedBy);
  const familiar = select(row, text.familiar);
  offer(familiar, Object.entries(text.yesNo));
  const place = input(row, text.where);
  const yes = { "": null, yes: true, no: false };
  button(row, text.keep, () =>
    keep({
      what: "end",
      side: side.value,
      direction: direction.value,
      phase: phase ?? null,
      end_feel: feel.value || null,
      stopped_by: stopped.value,
      familiar: yes[familiar.value],
      felt_where: place.value,
    }, text.end),
  );
}

function technique(parent, keep) {
  const row = parent.appendChild(make("fieldset", "fields"));
  row.append(make("legend", "", text.technique));
  const fields = Object.entries(text.techniqueFields).map(([name, label]) => [name, input(row, label)]);
  button(row, text.keep, () =>
    keep({
      what: "technique",
      ...Object.fromEntries(fields.map(([name, field]) => [name, field.value])),
    }, text.technique),
  );
}

function inWords(parent, keep) {
  const row = parent.appendChild(make("fieldset", "fields"));
  row.append(make("legend", "", text.inWords));
  const about = select(row, text.about);
  offer(about, Object.entries(text.abouts));
  const line = input(row, text.words);
  button(row, text.keep, () => {
    keep({ what: "note", about: about.value, text: line.value }, text.abouts[about.value]);
    line.value = "";
  });
}

/** Consent is withdrawn: the visit is over. */
function withdraw(parent, send) {
  const row = parent.appendChild(make("fieldset", "choices"));
  row.append(make("legend", "", text.withdraw));
  const contact = () => send({ what: "withdraw", contact: true, keeping: false });
  const keeping = () => send({ what: "withdraw", contact: true, keeping: true });
  button(row, text.withdrawContact, contact);
  button(row, text.withdrawKeeping, keeping);
}
