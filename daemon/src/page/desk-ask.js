// Asking the daemon.

import { t } from "./desk-words.js";

/** What the daemon answers to a GET. */
export const ask = (path) => answered(fetch(path));

/** What the daemon answers to a POST. */
export const tell = (path, body) =>
  answered(
    fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    }),
  );

async function answered(request) {
  let response;
  try {
    response = await request;
  } catch {
    throw new Error(t("desk.no-answer"));
  }
  const answer = await response.json();
  if (!response.ok) throw new Error(answer.detail);
  return answer;
}
