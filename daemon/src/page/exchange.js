// The offer to let the two shank sensors change places, when they seem to be on the wrong legs.

import { post } from "./commands.js";
import { button } from "./controls.js";
import { words } from "./strings.js";
import { make, setText } from "./view.js";

/** Shows what was noticed, with a button, as long as it can still be put right. */
export class Exchange {
  constructor(section, answer) {
    this.section = section;
    this.why = make("p");
    this.why.setAttribute("role", "alert");
    section.append(this.why);
    button(section, words.exchange, async () =>
      setText(answer, await post("/api/exchange", this.visit ? { visit: this.visit } : {})),
    );
  }

  draw({ exchange, visit, ended }) {
    this.visit = visit?.id;
    this.section.hidden = !exchange || ended;
    setText(this.why, exchange ?? "");
  }
}
