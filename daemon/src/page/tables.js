// Choosing the table that the visit is measured on, of those that were levelled.

import { button } from "./controls.js";
import { offer, select } from "./forms.js";
import { dated, tableLine, words } from "./strings.js";
import { make, setText } from "./view.js";

const text = words.calibration;

/** The card with the tables. */
export class Tables {
  constructor(card, ask) {
    this.known = [];
    this.now = make("p", "chosen");
    this.field = select(card, text.labels.levelled);
    this.field.addEventListener("change", () => (this.touched = true));
    card.append(this.now);
    button(card, text.use.begin, () => ask({ table: this.field.value || null }, "/api/table"));
  }

  /** Asks which tables there are. */
  async load() {
    try {
      const response = await fetch("/api/tables");
      if (response.ok) this.known = await response.json();
    } catch {
      // The page says already that the connection is lost.
    }
  }

  draw({ table }) {
    const choices = this.known.map((one) => [one.table, dated(one.table, one.levelled_at)]);
    offer(this.field, [["", text.use.none], ...choices]);
    const used = table?.table ?? "";
    // Until somebody chooses, the field shows what is used.
    if (!this.touched && this.field.value !== used) this.field.value = used;
    setText(this.now, used ? text.use.now(tableLine(table)) : text.use.unknown);
  }
}
