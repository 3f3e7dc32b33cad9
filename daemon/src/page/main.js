// Puts the page together: the newest state in, one drawing per frame out.

import { Air } from "./air.js";
import { Calibration } from "./calibration.js";
import { makeControls } from "./controls.js";
import { Course } from "./course.js";
import { Exchange } from "./exchange.js";
import { Gauge } from "./gauge.js";
import { drawHeader } from "./header.js";
import { drawLegend } from "./legend.js";
import { ageNow, connect } from "./live.js";
import { Panel } from "./panel.js";
import { Sound } from "./sound.js";
import { Speech } from "./speech.js";
import { keptAloud, lostFor, words } from "./strings.js";
import { drawSummary } from "./summary.js";
import { OLD_S, SIDES, isHidden, kept, legOf, setText } from "./view.js";

const byId = (id) => document.getElementById(id);

let newest = null;
let known = new Set();
let step = null;
let spoken = "";
const panels = Object.fromEntries(
  SIDES.map((side) => [side, new Panel(byId(`${side}-leg`), side)]),
);
const gauge = new Gauge(byId("gauge"));
const sound = new Sound(() => controls.drawSound());
const speech = new Speech();
const controls = makeControls(byId("buttons"), byId("answer"), { sound, speech }, () =>
  newest?.ended ? null : newest,
);
const calibration = new Calibration(byId("calibration"), byId("buttons"), byId("answer"), controls);
new Air(byId("air"), byId("buttons"), controls);
const course = new Course(byId("course"), byId("step"), byId("answer"), controls);
controls.takeOver = () => course.takeOver();
const exchange = new Exchange(byId("offer"), byId("answer"));
const link = connect(receive);

setText(byId("caution"), words.caution);
setText(byId("prompt"), words.waiting);
drawLegend(byId("legend"));
requestAnimationFrame(frame);

/** Takes a state; what it newly keeps is heard at once, even where nothing is drawn. */
function receive(state, first) {
  newest = state;
  // What is seen pulls the hand: in a guided visit it is hidden until somebody asks for it.
  if (state.course) controls.hideByDefault();
  if (state.course && state.course.step !== step) {
    if (step != null) sound.play("step");
    step = state.course.step;
  }
  if (state.prompt !== spoken) speech.prompt((spoken = state.prompt));
  const fresh = first ? [] : state.repetitions.filter((one) => !known.has(one.id));
  known = new Set(state.repetitions.map((one) => one.id));
  for (const one of fresh) announce(one, state);
  if (calibration.hear(state)) sound.kept("rest");
}

function announce(repetition, state) {
  const { side, phase, direction } = repetition;
  sound.kept(direction);
  panels[side].justKept(direction, performance.now());
  speech.value(repetition);
  const number = kept(state, side, phase, direction).length;
  setText(byId("said"), keptAloud(repetition, number, hiddenIn(state)));
}

const hiddenIn = (state) => isHidden(state) && !controls.open;

/** Draws the newest state, whatever came before it. */
function frame(now) {
  requestAnimationFrame(frame);
  drawLink(now);
  if (!newest) return;
  const hidden = hiddenIn(newest);
  const ages = Object.fromEntries(SIDES.map((side) => [side, ageOf(side, now)]));
  const old = Object.fromEntries(SIDES.map((side) => [side, ages[side].old]));
  gauge.draw(newest, hidden, old);
  for (const side of SIDES) panels[side].draw(newest, hidden, ages[side], now);
  calibration.draw(newest);
  course.draw(newest);
  exchange.draw(newest);
  drawHeader(newest, link, now);
  drawSummary(byId("summary"), newest);
  document.body.classList.toggle("ended", newest.ended);
}

/** How old a leg's data is now. */
function ageOf(side, now) {
  const age = ageNow(legOf(newest, side)?.data_age_s, link, now);
  return { age, old: age != null && age > OLD_S };
}

/** The prompt, or in its place for how long the connection has been lost. */
function drawLink(now) {
  const lost = !link.open && link.heardAt != null;
  byId("lost").hidden = !lost;
  byId("prompt").hidden = lost;
  if (lost) setText(byId("lost"), lostFor((now - link.heardAt) / 1000));
  else if (newest) setText(byId("prompt"), calibration.prompt ?? newest.prompt);
  if (lost !== drawLink.lost) {
    if (drawLink.lost != null) setText(byId("said"), lost ? words.connectionLost : words.connected);
    drawLink.lost = lost;
  }
}
