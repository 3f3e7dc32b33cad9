// What the lines of the gauge mean.

import { add } from "./svg.js";
import { words } from "./strings.js";
import { make } from "./view.js";

const [WIDTH, HEIGHT] = [34, 16];

/** Fills the legend: a sample of each kind of line beside its words. */
export function drawLegend(list) {
  const line = (kind) => ["line", { class: kind, x1: 1, x2: WIDTH - 1, y1: 8, y2: 8 }];
  const box = { x: 1, y: 1, width: WIDTH - 2, height: HEIGHT - 2 };
  const surface = ["line", { class: "surface", x1: 1, x2: WIDTH - 1, y1: 3, y2: 3 }];
  entry(list, words.legend.now, [["rect", { class: "water", ...box, y: 3 }], surface]);
  entry(list, words.legend.before, [line("mark baseline")]);
  entry(list, words.legend.after, [line("mark retest")]);
  entry(list, words.legend.gap, [
    ["line", { class: "mark retest", x1: 1, x2: 11, y1: 8, y2: 8 }],
    ["line", { class: "mark retest", x1: 23, x2: WIDTH - 1, y1: 8, y2: 8 }],
    ...[11, 23].map((x) => ["line", { class: "post", x1: x, x2: x, y1: 1, y2: 15 }]),
  ]);
  entry(list, words.legend.band, [["rect", { class: "band", ...box }]]);
}

function entry(list, text, shapes) {
  const item = make("li");
  const svg = add(item, "svg", { width: WIDTH, height: HEIGHT, "aria-hidden": "true" });
  for (const [name, attributes] of shapes) add(svg, name, attributes);
  item.append(text);
  list.append(item);
}
