// Words said aloud, on wish. Values stay silent until asked for: the person hears them and reacts.

import { spokenValue } from "./strings.js";

/** The browser's own voice, where it has one. */
export class Speech {
  prompts = false;
  values = false;

  /** Whether this browser can speak. */
  get able() {
    return "speechSynthesis" in globalThis;
  }

  prompt(line) {
    if (this.prompts) this.say(line);
  }

  value(repetition) {
    if (this.values) this.say(spokenValue(repetition));
  }

  say(line) {
    if (!this.able || !line) return;
    speechSynthesis.cancel();
    const saying = new SpeechSynthesisUtterance(line);
    saying.lang = document.documentElement.lang;
    speechSynthesis.speak(saying);
  }
}
