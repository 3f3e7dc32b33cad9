// The line at the top: who, which test, which phase, sensors and saving in words.

import { lossOf, lowBattery, oldFor, testName, words } from "./strings.js";
import { ageNow } from "./live.js";
import { make, setText } from "./view.js";

const TOO_OLD_S = 1; // a sensor's silence is worth a word after this; the gauge greys sooner
const MUCH_LOST = 0.01; // part of the samples lost that is worth a word

const byId = (id) => document.getElementById(id);

/** Draws the header from the newest state. */
export function drawHeader(state, link, now) {
  setText(byId("person"), state.visit?.person ?? words.noVisit);
  setText(byId("test"), state.visit ? testName(state.visit.test) : "");
  drawPhases(state);
  drawSensors(state, link, now);
  const saving = byId("saving");
  setText(saving, state.ended || !state.visit ? "" : state.saving ? words.saving : words.notSaving);
  saving.classList.toggle("wrong", !state.saving);
}

function drawPhases(state) {
  const list = byId("phases");
  if (!list.children.length) {
    list.append(...Object.values(words.phases).map((name) => make("li", "", name)));
  }
  Object.keys(words.phases).forEach((phase, index) => {
    const item = list.children[index];
    if (phase === state.phase) item.setAttribute("aria-current", "step");
    else item.removeAttribute("aria-current");
  });
}

function drawSensors(state, link, now) {
  const list = byId("sensors");
  const texts = state.ended ? [] : sensorTexts(state.sensors, link, now);
  while (list.children.length < texts.length) list.append(make("li"));
  while (list.children.length > texts.length) list.lastChild.remove();
  texts.forEach((text, index) => setText(list.children[index], text));
}

/** A few words while all is well; what is not well is said of each sensor. */
function sensorTexts(sensors, link, now) {
  if (!sensors.length) return [words.noSensors];
  const troubles = sensors.map((one) => [one, trouble(one, link, now)]).filter(([, text]) => text);
  if (!troubles.length) return [words.allWell];
  const texts = troubles.map(([one, text]) => `${words.roles[one.role] ?? one.role}: ${text}`);
  return troubles.length < sensors.length ? [...texts, words.restWell] : texts;
}

/** What is not well with a sensor; empty when data comes. */
function trouble(sensor, link, now) {
  const age = ageNow(sensor.data_age_s, link, now);
  if (age == null) return words.noData;
  if (age > TOO_OLD_S) return oldFor(age);
  const all = sensor.received + sensor.lost;
  const lost = all ? sensor.lost / all : 0;
  if (sensor.battery_low) return lowBattery(sensor.battery_percent);
  return lost > MUCH_LOST ? lossOf((lost * 100).toFixed(0)) : "";
}
