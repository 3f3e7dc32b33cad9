// The connection to the daemon: hands over each newer state, and says when it is lost.

const RETRY_MS = 1000;

/**
 * Connects and stays connected. `onState(state, first)` gets every newer state; `first` is true for
 * the first one of a connection, whose repetitions are not news.
 *
 * @returns the link: `heardAt` (ms of performance.now(), null before the first state) and `open`.
 */
export function connect(onState) {
  const link = { heardAt: null, open: false };
  start(link, onState);
  return link;
}

function start(link, onState) {
  const source = new EventSource("/api/live");
  // A daemon that was started again counts from the beginning, so each connection has its own count.
  let newest = -1;
  source.onopen = () => {
    newest = -1;
    link.open = true;
  };
  source.onmessage = (event) => {
    const state = JSON.parse(event.data);
    if (state.sequence <= newest) return;
    const first = newest < 0;
    newest = state.sequence;
    link.heardAt = performance.now();
    onState(state, first);
  };
  source.onerror = () => {
    link.open = false;
    // The browser comes back by itself after a lost connection, but not after a refusal.
    if (source.readyState === EventSource.CLOSED) setTimeout(() => start(link, onState), RETRY_MS);
  };
}

/** Age now of what was `ageThen` seconds old when the newest state was heard; null if unknown. */
export function ageNow(ageThen, link, now) {
  if (ageThen == null || link.heardAt == null) return null;
  return ageThen + (now - link.heardAt) / 1000;
}
