// What may be shown of a state, and how its repetitions are counted.

export const SIDES = ["left", "right"];
export const DIRECTIONS = ["internal", "external"];

/** Data older than this is shown as old, s. */
export const OLD_S = 0.3;

/**
 * Whether angles, old lines and changes are hidden now: while a leg is in the hands in baseline or
 * retest, because a target that is seen pulls the hand.
 */
export function isHidden(state) {
  const measuring = state.phase === "baseline" || state.phase === "retest";
  return measuring && !state.ended && state.legs.some((leg) => leg.raised);
}

/** The leg of a side; undefined when the state has none. */
export const legOf = (state, side) => state.legs.find((leg) => leg.side === side);

/** Kept repetitions of one side, phase and direction, oldest first. */
export const kept = (state, side, phase, direction) =>
  state.repetitions.filter(
    (one) => one.side === side && one.phase === phase && one.direction === direction,
  );

/**
 * Before against after for one side and direction, or for "total"; undefined when nothing can be said
 * yet.
 */
export const changeOf = (state, side, direction) =>
  state.changes.find((one) => one.side === side && one.direction === direction);

/** Sets a text only when it differs, so that nothing is laid out or announced again. */
export function setText(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/** A new element with a class and a text. */
export function make(name, className = "", text = "") {
  const element = document.createElement(name);
  if (className) element.className = className;
  if (text) element.textContent = text;
  return element;
}
