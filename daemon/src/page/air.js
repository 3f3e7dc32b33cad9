// The sensors and the way of their data: link, battery, signal and counts of each, and how long it takes.

import { button } from "./controls.js";
import { Fitting } from "./fitting.js";
import { air } from "./air-strings.js";
import { make, setText } from "./view.js";

const EVERY_MS = 1000; // as often as the daemon measures

/** The section that takes the gauge's place while the sensors are looked at. */
export class Air {
  constructor(section, buttons, controls) {
    Object.assign(this, { section, controls, open: false });
    this.toggle = button(buttons, "", () => this.show(!this.open));
    this.list = make("div", "choice");
    this.ways = make("table", "ways");
    this.cost = make("p", "cost");
    const ways = make("section", "card");
    ways.append(make("h3", "", air.ways.title), make("p", "", air.ways.how), this.ways, this.cost);
    section.append(make("h2", "", air.title), this.list);
    this.fitting = new Fitting(section);
    section.append(ways);
    this.toggle.dataset.air = "";
    this.cards = new Map();
    this.show(false);
  }

  show(open) {
    this.open = open;
    this.section.hidden = !open;
    this.controls.away = open;
    document.body.classList.toggle("aired", open);
    setText(this.toggle, open ? air.close : air.open);
    clearInterval(this.asking);
    if (!open) return;
    this.ask();
    this.asking = setInterval(() => this.ask(), EVERY_MS);
  }

  async ask() {
    // A calibration that is begun, here or on another page, has the place.
    if (document.body.classList.contains("laying")) return this.show(false);
    this.fitting.load();
    try {
      const response = await fetch("/api/status");
      if (response.ok && this.open) this.draw(await response.json());
    } catch {
      // The page says already that the connection is lost.
    }
  }

  draw(status) {
    const roles = status.sensors.map((one) => one.role);
    for (const [role, card] of this.cards) {
      if (roles.includes(role)) continue;
      card.element.remove();
      this.cards.delete(role);
    }
    for (const sensor of status.sensors) this.cardOf(sensor.role).draw(sensor);
    if (!status.sensors.length) setText(this.list, air.none);
    drawRows(this.ways, air.ways.heads, status.latencies.map(air.ways.row));
    setText(this.cost, air.cost(status));
  }

  cardOf(role) {
    if (!this.cards.has(role)) {
      if (!this.cards.size) this.list.replaceChildren();
      this.cards.set(role, new Card(this.list, role));
    }
    return this.cards.get(role);
  }
}

/** One sensor in words. */
class Card {
  constructor(parent, role) {
    this.element = make("section", "card sensor");
    this.link = make("p", "chosen");
    this.facts = make("p", "facts");
    this.counts = make("table", "ways");
    this.remark = make("p", "notice");
    this.element.append(make("h3", "", air.roles[role] ?? role), this.link, this.facts, this.counts, this.remark);
    parent.append(this.element);
  }

  draw(sensor) {
    setText(this.link, air.link(sensor));
    setText(this.facts, air.facts(sensor).join("\n"));
    drawRows(this.counts, null, air.counts(sensor));
    setText(this.remark, air.remark(sensor));
  }
}

/** Rows of a table, each a head and its cells; drawn again only when they have changed. */
function drawRows(table, heads, rows) {
  const wanted = JSON.stringify(rows);
  if (table.dataset.drawn === wanted) return;
  table.dataset.drawn = wanted;
  const row = ([first, ...cells], kind) => {
    const made = make("tr");
    const head = make("th", "", first);
    head.scope = kind === "th" ? "col" : "row";
    const rest = cells.map((text) => make(kind, "", text));
    if (kind === "th") for (const cell of rest) cell.scope = "col";
    made.append(head, ...rest);
    return made;
  };
  table.replaceChildren(...(heads ? [row(heads, "th")] : []), ...rows.map((one) => row(one, "td")));
}
