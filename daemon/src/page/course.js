// A guided visit: what is asked while the hands are free, and where the visit stands.

import { post } from "./commands.js";
import { Exclusive, formOf } from "./course-forms.js";
import { words } from "./strings.js";
import { setText } from "./view.js";

const text = words.course;

/** The section that asks, and the line that says which step it is. */
export class Course {
  constructor(section, line, answer, controls) {
    Object.assign(this, { section, line, answer, controls });
    this.sheet = null;
    this.asked = -1;
    this.drawn = "";
    this.raters = new Exclusive();
  }

  /** Whether the page asks now, in the gauge's place. */
  get open() {
    return !this.section.hidden;
  }

  /** Draws where the visit stands; a step's form is made once, so that what is typed stays. */
  draw(state) {
    const { course } = state;
    const shown = course && !state.ended;
    this.line.hidden = !shown;
    document.body.classList.toggle("guided", Boolean(shown));
    if (!shown) return this.close();
    this.visit = state.visit?.id;
    this.state = state;
    this.drawLine(course);
    if (course.revision !== this.asked) this.load(course.revision);
    const down = !state.legs.some((leg) => leg.raised);
    const form = this.sheet && down ? formOf(course.step) : null;
    const wanted = form ? `${course.step} ${form.anew ? course.revision : ""}` : "";
    if (wanted && this.sheet.revision !== course.revision) {
      // What the step before asked is not answered twice while the new one is on its way.
      if (!this.drawn.startsWith(`${course.step} `)) this.section.replaceChildren();
      return;
    }
    if (wanted === this.drawn) return;
    this.drawn = wanted;
    this.section.replaceChildren();
    this.section.hidden = !form;
    const asks = Boolean(form && !form.beside);
    document.body.classList.toggle("asking", asks);
    document.body.classList.toggle("alone", Boolean(form?.alone));
    this.controls.asking = asks;
    // The gauge's place is the page's main part, and this takes it or stands below it.
    this.section.role = asks || form?.alone ? "main" : "region";
    this.section.ariaLabel = text.steps[course.step];
    if (form) this.make(form);
  }

  close() {
    this.section.hidden = true;
    this.drawn = "";
    this.controls.asking = false;
    document.body.classList.remove("asking", "alone");
  }

  /** Which step it is, of how many, and what was left out. */
  drawLine({ step, steps, rater }) {
    const at = steps.findIndex((one) => one.state === "now") + 1;
    const left = steps.filter((one) => one.state === "left-out").map((one) => text.steps[one.step]);
    const parts = [
      text.stepOf(at, steps.length, text.steps[step]),
      left.length && text.leftOut(left.join(", ")),
      rater && text.hands(rater),
    ];
    setText(this.line, parts.filter(Boolean).join(" · "));
  }

  async load(revision) {
    this.asked = revision;
    try {
      const response = await fetch("/api/course");
      if (response.ok) this.sheet = await response.json();
      else this.asked = -1;
    } catch {
      this.asked = -1;
    }
  }

  make(form) {
    form.make({
      section: this.section,
      sheet: this.sheet,
      state: this.state,
      raters: this.raters,
      send: (answer) => this.send(answer),
    });
    if (!form.beside) this.section.querySelector("[autofocus], input, select, button")?.focus();
  }

  /** Sends an answer; true when it was taken. */
  async send(answer) {
    setText(this.answer, "");
    const refused = await post("/api/answer", {
      answer,
      ...(this.visit ? { visit: this.visit } : {}),
    });
    setText(this.answer, refused);
    return !refused;
  }

  /** The other of two people has the hands on the leg. */
  takeOver() {
    const code = this.raters.other(this.state?.course?.rater);
    if (code) this.send({ what: "rater", code });
  }
}
