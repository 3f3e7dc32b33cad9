// The words of the sensors' section.

const NEAR_DBM = -65; // common practice: stronger than this is near
const FAR_DBM = -85; // and weaker than this is about to be lost
const RATE_OFF = 0.02; // as in the daemon: a rate further off is worth a word
const MUCH_LOST = 0.01;

const links = {
  searching: "being looked for",
  connecting: "being connected",
  streaming: "connected, data comes",
  silent: "connected, but silent",
  lost: "link lost, being taken up again",
  refused: "cannot be had",
};

const wayNames = {
  decoded: "decoded",
  angle: "angle known",
  page: "sent to a page",
  stored: "raw data on disk",
  kept: "repetition on disk",
};

const nothing = "–";
const ms = (value) => (value == null ? nothing : value < 10 ? value.toFixed(2) : value.toFixed(0));

export const air = {
  open: "Find and watch sensors",
  close: "Back to the gauge",
  title: "Sensors and their data",
  none: "No sensor is part of this visit.",
  roles: {
    "left-shank": "Left shank",
    "right-shank": "Right shank",
    pelvis: "Pelvis",
    "left-thigh": "Left thigh",
    "right-thigh": "Right thigh",
  },

  /** How its link is doing. */
  link({ link, data_age_s: age }) {
    if (link) return links[link] ?? link;
    if (age == null) return "no data yet";
    return age > 1 ? "silent" : "data comes";
  },

  /** Battery, signal, rate and clock, each in a line. */
  facts(sensor) {
    const { battery_percent: battery, signal_dbm: signal, rate_hz: rate, nominal_hz: stated } = sensor;
    const lines = [];
    if (battery != null) lines.push(`battery ${battery} %${sensor.battery_low ? ", low: charge it after this visit" : ""}`);
    else if (sensor.link) lines.push("battery not known");
    if (signal != null) lines.push(`signal ${strength(signal)} (${signal} dBm when it was found)`);
    if (rate != null) lines.push(`${rate.toFixed(1)} samples a second`);
    else if (stated != null) lines.push(`${stated.toFixed(0)} samples a second by its profile, not measured yet`);
    if (sensor.epochs > 1) lines.push(`began anew ${sensor.epochs - 1} times`);
    return lines;
  },

  /** What became of its samples. */
  counts: (one) =>
    [
      ["received", one.received],
      ["lost", one.lost],
      ["arrived twice", one.duplicate],
      ["put in order", one.reordered],
      ["too late", one.late],
      ["notifications refused", one.malformed],
      ["at the end of its range", one.saturated],
      ["marked as no reading", one.no_data],
    ].map(([what, number]) => [what, String(number)]),

  /** What is worth a word, with what to do. */
  remark(one) {
    const lost = one.lost / Math.max(1, one.lost + one.received);
    if (lost > MUCH_LOST) return `${(100 * lost).toFixed(1)} % lost: bring the computer nearer`;
    if (one.clock_fit_rejected) return "Its clock is further off than its profile allows; arrival times are used.";
    if (one.rate_hz != null && one.nominal_hz && Math.abs(one.rate_hz / one.nominal_hz - 1) > RATE_OFF) {
      return `Its profile says ${one.nominal_hz.toFixed(0)} samples a second. Angles are right all the same; look whether another rate was set.`;
    }
    return "";
  },

  ways: {
    title: "How long the data takes",
    how: "From the arrival of a sensor's notification, in milliseconds. The angle waits for the other sensors; raw data goes to disk once a second.",
    heads: ["until", "half within", "99 of 100 within", "longest", "count"],
    row: (one) => [wayNames[one.way] ?? one.way, ms(one.p50_ms), ms(one.p99_ms), ms(one.max_ms), String(one.count)],
  },

  /** What the program costs the computer. */
  cost({ process, up_s: up }) {
    const cpu = process.cpu_s == null ? nothing : `${((100 * process.cpu_s) / Math.max(up, 0.001)).toFixed(0)} %`;
    const memory = process.memory_bytes == null ? nothing : `${(process.memory_bytes / 1e6).toFixed(0)} MB`;
    return `Processor ${cpu} of one on average, memory ${memory}.`;
  },
};

/** A signal strength in a word. */
export function strength(dbm) {
  if (dbm >= NEAR_DBM) return "strong";
  return dbm >= FAR_DBM ? "fair" : "weak";
}
