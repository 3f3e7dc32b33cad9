// The words for finding sensors and saying where they are worn.

import { strength } from "./air-strings.js";

export const fitting = {
  title: "Find and assign",
  how:
    "Switch a sensor on and look for it. Then turn it in the hand for a moment: the page says which one moves. " +
    "What is assigned here counts from the next visit on.",
  buttons: {
    scan: "Look for sensors",
    move: "Which one moves?",
    stop: "Stop",
    assign: "It is worn here",
    forget: "Worn nowhere any more",
    rename: "Call it so",
  },
  searches: {
    off: "Nothing is being looked for.",
    scanning: "Looking for sensors.",
    paused: "The search waits: the visit's sensors stream, and it would disturb them.",
    moving: "Connecting those in sight: turn one of them in the hand.",
  },
  moves: (sensor) => `${fitting.named(sensor)} moves.`,
  itMoves: " – this one moves",
  labels: { role: "Worn on", name: "Called" },
  roles: {
    "left-shank": "left shank",
    "right-shank": "right shank",
    pelvis: "pelvis",
    "left-thigh": "left thigh",
    "right-thigh": "right thigh",
  },

  /** What a sensor is called; one without a name by the end of its address. */
  named: ({ name, address }) => name ?? `unnamed …${address.slice(-5)}`,

  /** Where it is worn, how strong it is, what it is read with. */
  facts({ address, role, signal_dbm: signal, profile, battery_percent: battery, connected }, search) {
    const lines = [role ? `worn on the ${fitting.roles[role]}` : "not assigned"];
    lines.push(signal == null ? "not in sight" : `signal ${strength(signal)} (${signal} dBm)`);
    if (search === "moving") lines.push(connected ? "connected" : "not connected yet");
    if (battery != null) lines.push(`battery ${battery} % when it was last connected`);
    if (profile) lines.push(`profile ${profile}`);
    lines.push(address);
    return lines;
  },
};
