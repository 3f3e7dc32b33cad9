// Finding sensors and saying where each is worn: the list, which one moves, and what is decided.

import { post } from "./commands.js";
import { button } from "./controls.js";
import { card, input, offer, select } from "./forms.js";
import { fitting as text } from "./fitting-strings.js";
import { make, setText } from "./view.js";

/** The card with the sensors in sight. */
export class Fitting {
  constructor(parent) {
    this.element = card(parent, text);
    this.element.classList.add("fitting");
    const choices = make("div", "choices");
    this.buttons = {};
    for (const order of ["scan", "move", "stop"]) {
      this.buttons[order] = button(choices, text.buttons[order], () => this.ask({ order }));
    }
    this.now = make("p", "chosen");
    this.now.setAttribute("role", "status");
    this.reason = make("p", "reason");
    this.list = make("ul", "sensors-in-sight");
    this.element.append(choices, this.now, this.reason, this.list);
    this.rows = new Map();
  }

  /** Asks what is in sight. */
  async load() {
    try {
      const response = await fetch("/api/sensors");
      if (response.ok) this.draw(await response.json());
    } catch {
      // The page says already that the connection is lost.
    }
  }

  async ask(order) {
    this.refused = await post("/api/sensors", order);
    await this.load();
  }

  draw(state) {
    const { search, sensors, moved, trouble } = state;
    this.buttons.scan.disabled = search === "scanning" || search === "paused";
    this.buttons.move.disabled = search === "moving" || !sensors.some((one) => one.signal_dbm != null);
    this.buttons.stop.disabled = search === "off";
    const which = sensors.find((one) => one.address === moved);
    setText(this.now, which ? text.moves(which) : text.searches[search]);
    setText(this.reason, this.refused || (trouble ?? ""));
    const addresses = sensors.map((one) => one.address);
    for (const [address, row] of this.rows) {
      if (addresses.includes(address)) continue;
      row.element.remove();
      this.rows.delete(address);
    }
    for (const sensor of sensors) {
      if (!this.rows.has(sensor.address)) this.rows.set(sensor.address, new Row(this, sensor.address));
      this.rows.get(sensor.address).draw(sensor, sensor.address === moved, search);
    }
  }
}

/** One sensor, with what can be decided of it. */
class Row {
  constructor(list, address) {
    const ask = (order) => list.ask({ address, ...order });
    this.element = make("li", "card");
    this.name = make("h4");
    this.facts = make("p", "facts");
    this.element.append(this.name, this.facts);
    this.role = select(this.element, text.labels.role);
    offer(this.role, Object.entries(text.roles));
    this.role.addEventListener("change", () => (this.touched = true));
    const choices = make("div", "choices");
    this.assign = button(choices, text.buttons.assign, () => {
      this.touched = false;
      ask({ order: "assign", role: this.role.value });
    });
    this.forget = button(choices, text.buttons.forget, () => ask({ order: "forget" }));
    this.element.append(choices);
    this.called = input(this.element, text.labels.name);
    this.called.maxLength = 64;
    const renames = make("div", "choices");
    this.rename = button(renames, text.buttons.rename, () =>
      ask({ order: "rename", name: this.called.value.trim() || null }),
    );
    this.element.append(renames);
    list.list.append(this.element);
  }

  draw(sensor, moves, search) {
    this.element.classList.toggle("moves", moves);
    setText(this.name, text.named(sensor) + (moves ? text.itMoves : ""));
    setText(this.facts, text.facts(sensor, search).join("\n"));
    if (!this.touched && sensor.role && this.role.value !== sensor.role) this.role.value = sensor.role;
    this.assign.disabled = sensor.signal_dbm == null;
    this.forget.disabled = !sensor.role;
    // A name is kept for sensors that are known, i.e. were assigned once.
    this.called.closest("label").hidden = this.rename.hidden = !sensor.role;
  }
}
