// The desk: which view is open, and the way there.

import { drawList } from "./desk-list.js";
import { drawHistory } from "./desk-history.js";
import { drawVisit } from "./desk-visit.js";
import { language, offerLanguages, t } from "./desk-words.js";
import { make } from "./view.js";

const byId = (id) => document.getElementById(id);

document.documentElement.lang = language;
byId("caution").textContent =
  `${t("always.not-diagnosis")} ${t("always.bone")} ${t("always.not-device")}`;
const select = make("select");
byId("language").append(`${t("desk.language")} `, select);
offerLanguages(select);

addEventListener("hashchange", open);
await open();

/** Opens the view that the address names. */
async function open() {
  const [name, ...rest] = location.hash.slice(1).split("/");
  const what = decodeURIComponent(rest.join("/"));
  const view = byId("view");
  byId("answer").textContent = "";
  try {
    const drawn = await draw(name, what);
    document.title = `${drawn.title} · endarc`;
    drawWay(drawn.way ?? []);
    view.replaceChildren(make("h1", "", drawn.title), ...drawn.parts);
  } catch (error) {
    view.replaceChildren(make("h1", "", t("desk.failed")), make("p", "", error.message));
    drawWay([]);
  }
  view.dataset.drawn = location.hash || "#";
  view.focus({ preventScroll: true });
  scrollTo(0, 0);
}

function draw(name, what) {
  if (name === "person") return drawHistory(what);
  if (name === "visit") return drawVisit(what, (text) => (byId("answer").textContent = text));
  return drawList();
}

/** The way back: the live page, all visits, and what the view adds. */
function drawWay(more) {
  const links = [["/", t("desk.live")], ["#", t("desk.all")], ...more];
  byId("way").setAttribute("aria-label", t("desk.way"));
  byId("way").replaceChildren(
    ...links.map(([to, text]) => {
      const link = make("a", "", text);
      link.href = to;
      return link;
    }),
  );
}
