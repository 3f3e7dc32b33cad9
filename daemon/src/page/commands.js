// What the therapist says by a pedal, a key or a button.

import { words } from "./strings.js";

// A pedal with two switches turns pages: its back switch takes back.
const UNDO_KEYS = ["Backspace", "Delete", "PageUp", "ArrowLeft"];
// Its other switch goes on.
const NEXT_KEYS = ["PageDown", "ArrowRight", "Enter"];
// The person's own clicker: what a hand-held presenter sends for a dark screen (common practice), or P.
const PAIN_KEYS = ["b", ".", "p"];
// These keep what they do in the browser.
const OTHER_KEYS = /^(Tab|Escape|Shift|Control|Alt|AltGraph|Meta|CapsLock|F\d+|Home|End|ArrowUp|ArrowDown)$/;

/** Sends one command for the visit that is shown; returns what to tell, empty when it was taken. */
export const send = (kind, visit) => post("/api/mark", { kind, ...(visit ? { visit } : {}) });

/** Sends what is asked for; returns what to tell, empty when it was taken. */
export async function post(path, body) {
  try {
    const response = await fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    });
    if (response.ok) return "";
    return words.notTaken + (await response.json()).detail;
  } catch {
    return words.notTaken + words.noAnswer;
  }
}

/** Calls `onCommand(key, kind)` for a pedal or key that is meant for the visit, not for the browser. */
export function listenToKeys(onCommand) {
  document.addEventListener("keydown", (event) => {
    const browser = event.ctrlKey || event.altKey || event.metaKey || OTHER_KEYS.test(event.key);
    if (event.repeat || browser || event.target.closest?.("button, a, input, select, summary")) return;
    const kinds = { undo: UNDO_KEYS, next: NEXT_KEYS, "pain-stop": PAIN_KEYS };
    const kind = Object.keys(kinds).find((one) => kinds[one].includes(event.key)) ?? "mark";
    const taken = onCommand(event.key, kind);
    if (taken) event.preventDefault();
  });
}
