// Every word the page says.

export const words = {
  caution:
    "Stop on pain. A documentation tool, not a medical device and not for diagnosis. " +
    "Local rules and licensed practice come first.",
  noVisit: "No visit is open",
  waiting: "Waiting for the daemon",
  phases: { baseline: "baseline", treatment: "treatment", retest: "retest" },
  legs: { left: "Left leg", right: "Right leg" },
  sides: { left: "left", right: "right" },
  directions: { internal: "internal", external: "external", total: "total" },
  feet: { internal: "foot outward", external: "foot inward" },
  neutral: "neutral",
  roles: { "left-shank": "left shank", "right-shank": "right shank", pelvis: "pelvis", "left-thigh": "left thigh", "right-thigh": "right thigh" },
  noSensors: "no sensors yet",
  allWell: "all sensors: data comes",
  restWell: "the others: data comes",
  saving: "Saved to disk as it comes",
  notSaving: "NOT SAVED: nothing reaches the disk",
  noData: "no data yet",
  notAligned: "not aligned yet",
  lying: "laid down",
  veiled: ["angles hidden", "while measuring"],
  keptUnit: "kept",
  rows: { before: "before", after: "after", change: "change", limit: "limit" },
  legend: {
    now: "water: now",
    before: "dashed: baseline",
    after: "solid: retest",
    gap: "with a hole between posts: samples are missing",
    band: "hatched: a change too small to tell from error (limit)",
  },
  buttons: { mark: "Mark the end", next: "Next", undo: "Undo last" },
  soundAllow: "Allow sound",
  soundOn: "Sound is on",
  soundOff: "Sound is off",
  keysOn: "Any key marks: on",
  keysOff: "Any key marks: off",
  openOn: "Angles while measuring: shown",
  openOff: "Angles while measuring: hidden",
  notTaken: "Not taken: ",
  noAnswer: "the daemon does not answer",
  connectionLost: "Connection lost.",
  connected: "Connected again.",
  summary: {
    title: "Summary: a measurement, not a diagnosis",
    columns: ["leg", "direction", "before", "after", "change", "limit", "what can be said"],
    none: "No side and direction was measured both before and after, so no change can be stated.",
    limit:
      "The limit is the smallest change that can be told from measurement error. " +
      "“Before” and “after” are means of the kept repetitions. " +
      "“Total” is internal and external together; a tilted table does not shift it.",
  },
  settings: "Settings",
  promptsOn: "Prompts spoken: on",
  promptsOff: "Prompts spoken: off",
  valuesOn: "Values spoken: on",
  valuesOff: "Values spoken: off",
  course: {
    steps: {
      person: "Person",
      cautions: "Cautions",
      growth: "Growing hip",
      consent: "Consent",
      plan: "Plan",
      sensors: "Sensors",
      "prepare-right": "Prepare the right leg",
      "prepare-left": "Prepare the left leg",
      baseline: "Baseline",
      treatment: "Treatment",
      settle: "Legs flat",
      retest: "Retest",
      summary: "Notes",
    },
    stepOf: (at, all, name) => `${name} (step ${at} of ${all})`,
    leftOut: (names) => `left out: ${names}`,
    hands: (code) => `hands: ${code} (H: the other)`,
    go: "Go on",
    reason: "Leave this step out, because",
    leave: "Leave out",
    lastHere: (date) => `Last here on ${date}.`,
    code: "Code (never a name)",
    affected: "Affected side",
    neither: "not said",
    rater: "Whose hands (code)",
    second: "Second pair of hands (code)",
    under18: "Under 18",
    barred: "Must not be moved (after surgery, say): no prompt, no target",
    cautionsLead:
      "Ask all of it. This list asks; it never clears anyone. What applies belongs with somebody " +
      "licensed to assess it first, and a broken bone, an infection, or numbness between the legs today.",
    nothingNew: (date) => `Asked: nothing new since ${date}`,
    somethingNew: "Something is new: go through the list",
    applies: "Tick what applies",
    lookedAt: "If anything applies: who has looked at it, and why it is gone on with",
    askedAll: "All of it was asked",
    growthLead:
      "A hip that grows can slip at its growth plate, and may hurt in the knee alone. Ask before any " +
      "movement.",
    limp: "A limp",
    groin: "Pain in groin, thigh or knee",
    consentLead:
      "Say what is done and why, what clothing is moved, that somebody may stay in the room, and that " +
      "it can be stopped at any time. Consent holds for this visit and what was explained; ask again " +
      "when something changes.",
    contact: "Consents to being touched and moved as explained: both legs, a hand on the pelvis",
    keeping: "Consents to movement data and notes being kept under the code",
    research: "Consents to their use in research under the code",
    guardian: "Under 18: the guardian consents",
    child: "Under 18: the child agrees in its own words",
    years: "Kept for how many years",
    agreed: "Agreed besides (clothing, who stays)",
    withdrawal: "It can be withdrawn at any time, under Notes; the visit ends there.",
    end: "What ends a repetition, the same at retest",
    ends: {
      "first-resistance": "first firm resistance",
      "pelvis-moves": "the pelvis moves",
      pain: "pain",
      "person-says-stop": "the person says stop",
    },
    primary: "The one measure it is meant for",
    repetitions: "Repetitions each way",
    warmUp: "Movements to warm up, not counted",
    order: "Order",
    orders: { free: "free", chance: "by chance" },
    short: "Short: that direction only, both sides",
    force: "The hand's force is not measured: the same end criterion keeps it alike.",
    placing: [
      "On bare skin or tight cloth. Loose trousers: no change can be stated.",
      "Flat on the inner shin, in its upper middle third, never under your hand.",
      "Pelvis: on a belt at the back, your hand beside it.",
      "Knee pain at 90°: bend it less, and the same in the retest.",
    ],
    oneSensor:
      "One sensor: this visit measures its leg. Leave it on from baseline to retest; the untreated leg " +
      "comes first, in a visit of its own.",
    begin: "Begin",
    sameLead: "Same as in baseline? The retest begins by itself.",
    same: {
      pillow: "Pillow or towel",
      head: "Head",
      other_leg: "Other leg",
      knee_held: "Hold on the knee",
      knee_angle: "Knee angle",
    },
    sameAs: { "": "not said", true: "same", false: "different" },
    allSame: "All the same",
  },
  notes: {
    title: "Note something (pain, end-feel, what was done)",
    noted: (what) => `Noted: ${what}`,
    keep: "Note it",
    pain: "Pain now, 0 to 10",
    painIs: (rating) => `pain ${rating}`,
    end: "How an end was",
    side: "Leg",
    direction: "Direction",
    feel: "End-feel",
    feels: {
      soft: "soft",
      firm: "firm",
      hard: "hard",
      springy: "springy",
      spasm: "spasm",
      empty: "empty: pain before resistance",
    },
    stoppedBy: "What stopped it",
    familiar: "The familiar symptom?",
    yesNo: { "": "not said", yes: "yes", no: "no" },
    where: "Where",
    technique: "What was done",
    techniqueFields: { name: "Technique", tissue: "Tissue", contact: "Contact", effort: "Effort" },
    inWords: "In words",
    about: "About",
    abouts: {
      "since-last": "how it was since last time",
      "sign-before": "own functional sign, before",
      "sign-after": "own functional sign, after",
      adverse: "adverse reaction",
      exercise: "exercise at home",
      "next-visit": "next visit",
      note: "anything else",
    },
    words: "In words",
    withdraw: "Consent is withdrawn: the visit is over",
    withdrawContact: "To being touched",
    withdrawKeeping: "To data being kept as well",
  },
  exchange: "Exchange the two sensors",
  calibration: {
    open: "Sensors and table",
    close: "Back to the gauge",
    title: "Sensors and table",
    before: "Before a visit, with the sensor off the leg. Any sensor will do that sends.",
    sensor: {
      title: "Calibrate a sensor",
      how:
        "Lay it on something firm, on each of its six sides once, in any order, roughly. " +
        "Let go for five seconds each time. Sides are named by the axis that points up or down.",
      begin: "Begin with this sensor",
    },
    table: {
      title: "Level a table",
      how:
        "Lay the sensor on the middle of the table, z up and x to the head end. Let go for five " +
        "seconds, turn it by half a turn on the same place, and let go again.",
      begin: "Begin with this table",
    },
    use: {
      title: "Table of this visit",
      how: "Its stored tilt is taken out of the angles. Has it moved since? Then level it anew.",
      begin: "Measure on this table",
      none: "not levelled",
      now: (line) => `This visit is measured on ${line}.`,
      unknown: "For this visit no levelled table is chosen.",
    },
    labels: { sensor: "Sensor (last calibrated)", temperature: "How warm it is, °C (if known)", table: "Table's name", levelled: "Table (levelled)" },
    never: "never",
    finish: "Finish",
    stop: "Stop",
    again: "Another",
    done: "done",
    wanted: "wanted",
    moving: "moving",
    levelled: (name) => `Table “${name}”`,
  },
  nothing: "–",
};

const MINUS = "−";

/** A number with its sign, one decimal; never "−0.0". */
function signed(value) {
  const text = Math.abs(value).toFixed(1);
  if (Number(text) === 0) return text;
  return (value < 0 ? MINUS : "+") + text;
}

/** An angle that may be missing, e.g. "32.1°". */
export function angle(value) {
  if (value == null) return words.nothing;
  return (value <= -0.05 ? MINUS : "") + Math.abs(value).toFixed(1) + "°";
}

/** A change that may be missing, e.g. "+4.3°". */
export const change = (value) => (value == null ? words.nothing : signed(value) + "°");

/** A limit that may be missing, e.g. "±5.4°". */
export const limit = (value) => (value == null ? words.nothing : `±${value.toFixed(1)}°`);

/** A time span in words: tenths while short, whole seconds, then minutes. */
export function span(seconds) {
  if (seconds < 10) return `${seconds.toFixed(1)} s`;
  if (seconds < 120) return `${Math.floor(seconds)} s`;
  return `${Math.floor(seconds / 60)} min`;
}

export const oldFor = (seconds) => `no data for ${span(seconds)}`;
export const lostFor = (seconds) => `Connection lost for ${span(seconds)}: this is old`;
export const lossOf = (percent) => `${percent} % of the data lost`;
export const lowBattery = (percent) => `battery down to ${percent} %`;
export const wayOf = (direction) => `${words.directions[direction]} – ${words.feet[direction]}`;
export const uncertainty = (value) => `uncertainty ± ${value.toFixed(1)}°`;
export const knee = (value) => `knee bent ${Math.round(value)}°`;
export const pelvis = (value) => `pelvis rolled ${change(value)}`;
export const countOf = (number) => `${number}×`;
export const keptHere = (internal, external) => `kept: internal ${internal}, external ${external}`;
export const justKept = (direction) => `kept: ${words.directions[direction]}`;
export const restedFor = (seconds, wanted) => `${seconds.toFixed(1)} of ${wanted} s`;
/** A moment of UTC as a day of this place, e.g. "25 Nov 2026". */
export const day = (utc) =>
  new Date(utc).toLocaleDateString("en-GB", { day: "numeric", month: "short", year: "numeric" });
export const dated = (name, utc) => `${name} (${utc ? day(utc) : words.calibration.never})`;
export const tableLine = (one) =>
  `${one.table}: ${signed(one.sideways_deg)}° ± ${one.sideways_sd_deg.toFixed(1)}°, levelled ${day(one.levelled_at)}`;
export const testName = (test) => test.replaceAll("-", " ");

/** What is said aloud for a kept repetition; without the angle while angles are hidden. */
export function keptAloud(repetition, number, hidden) {
  const { side, direction, end_range_deg: value } = repetition;
  const what = `Kept: ${words.sides[side]}, ${words.directions[direction]}, number ${number}`;
  const gap = repetition.flags.includes("gap") ? " Samples are missing in it." : "";
  return (hidden ? `${what}.` : `${what}, ${angle(value)}.`) + gap;
}

/** A kept repetition's value, said aloud on wish. */
export const spokenValue = ({ side, direction, end_range_deg: value }) =>
  `${words.sides[side]}, ${words.directions[direction]}, ${Math.round(value)} degrees`;

/** The gauge in one sentence per leg, for those who do not see it. */
export function gaugeAloud(counts) {
  const leg = (side) =>
    `${words.legs[side]}: ` +
    Object.entries(counts[side])
      .map(([what, number]) => `${what} ${number}`)
      .join(", ");
  return `Tide gauge, repetitions kept. ${leg("left")}. ${leg("right")}.`;
}
