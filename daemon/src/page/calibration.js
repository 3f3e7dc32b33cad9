// Calibrating a sensor and levelling a table: what to begin with, what to do next, what was found.

import { post } from "./commands.js";
import { button } from "./controls.js";
import { card, input, offer, select } from "./forms.js";
import { Rests } from "./rests.js";
import { dated, words } from "./strings.js";
import { Tables } from "./tables.js";
import { make, setText } from "./view.js";

const text = words.calibration;

/** The section that takes the gauge's place while a sensor is laid about. */
export class Calibration {
  constructor(section, buttons, answer, controls) {
    Object.assign(this, { section, answer, controls });
    this.open = false;
    this.done = 0;
    this.running = null;
    this.toggle = button(buttons, "", () => this.show(!this.open));
    this.choice = makeChoice((order, path) => this.ask(order, path));
    this.work = makeWork((order) => this.ask(order));
    section.append(make("h2", "", text.title), this.choice.element, this.work.element);
    this.show(false);
  }

  /** What to do now, while something is going on; else null. */
  get prompt() {
    return this.open ? (this.running?.prompt ?? text.before) : null;
  }

  /** Takes a state, whether it is drawn or not; true when a rest was just done. */
  hear(state) {
    // What is begun on one page is shown on every page.
    if (state.calibration && !this.running) this.show(true);
    this.running = state.calibration;
    const done = this.running?.rests.filter((rest) => rest.done).length ?? 0;
    const more = done > this.done || (this.kept && !this.wasKept);
    [this.done, this.wasKept] = [done, this.kept];
    return more;
  }

  get kept() {
    return this.running?.state === "kept";
  }

  draw(state) {
    this.toggle.hidden = state.ended;
    if (state.ended && this.open) this.show(false);
    if (!this.open) return;
    this.visit = state.visit?.id;
    this.choice.element.hidden = this.running != null;
    this.work.element.hidden = this.running == null;
    if (this.kept && !this.listed) this.choice.tables.load();
    this.listed = this.kept;
    // The reason stands with the rests already.
    const told = words.notTaken + (this.running?.reason ?? "");
    if (this.running?.reason && this.answer.textContent === told) setText(this.answer, "");
    if (this.running) this.work.draw(this.running);
    else this.choice.draw(state);
  }

  show(open) {
    if (open && !this.open) this.choice.tables.load();
    this.open = open;
    this.section.hidden = !open;
    this.controls.away = open;
    document.body.classList.toggle("laying", open);
    setText(this.toggle, open ? text.close : text.open);
  }

  async ask(order, path = "/api/calibration") {
    const visit = this.visit ? { visit: this.visit } : {};
    setText(this.answer, "");
    setText(this.answer, await post(path, { ...order, ...visit }));
  }
}

/** What to begin with: a sensor, or a table. */
function makeChoice(ask) {
  const element = make("div", "choice");
  const sensor = card(element, text.sensor);
  const [which, warmth] = [select(sensor, text.labels.sensor), input(sensor, text.labels.temperature)];
  warmth.inputMode = "decimal";
  button(sensor, text.sensor.begin, () =>
    ask({ order: "calibrate", sensor: which.value, ...warm(warmth.value) }),
  );
  const table = card(element, text.table);
  const [with_, name] = [select(table, text.labels.sensor), input(table, text.labels.table)];
  name.maxLength = 64;
  button(table, text.table.begin, () =>
    ask({ order: "level", sensor: with_.value, table: name.value }),
  );
  const tables = new Tables(card(element, text.use), ask);
  const draw = (state) => {
    [which, with_].forEach((one) => offer(one, state.sensors.map(sensorOption)));
    tables.draw(state);
  };
  return { element, draw, tables };
}

/** A temperature as it was typed, with a comma or a point; nothing where none was. */
function warm(typed) {
  const celsius = Number.parseFloat(typed.replace(",", "."));
  return Number.isFinite(celsius) ? { temperature_c: celsius } : {};
}

/** A sensor that is there, with when it was calibrated. */
function sensorOption({ role, calibrated_at: at }) {
  return [role, dated(words.roles[role] ?? role, at)];
}

/** What is going on. */
function makeWork(ask) {
  const element = make("div", "work");
  const heading = make("h3");
  const rests = new Rests();
  const reason = make("p", "reason");
  reason.setAttribute("role", "alert");
  const result = make("ul", "result");
  const buttons = make("div", "choices");
  element.append(heading, rests.element, reason, result, buttons);
  const finish = button(buttons, text.finish, () => ask({ order: "finish" }));
  const stop = button(buttons, text.stop, () => ask({ order: "stop" }));
  const draw = (running) => {
    const kept = running.state === "kept";
    const sensor = words.roles[running.sensor] ?? running.sensor;
    setText(heading, running.table == null ? sensor : text.levelled(running.table));
    rests.element.hidden = kept;
    rests.draw(running.rests);
    setText(reason, running.reason);
    const found = running.result.join("\n");
    if (result.dataset.drawn !== found) {
      result.dataset.drawn = found;
      result.replaceChildren(...running.result.map((line) => make("li", "", line)));
    }
    finish.hidden = kept;
    finish.classList.toggle("ready", running.complete);
    setText(stop, kept ? text.again : text.stop);
  };
  return { element, draw };
}
