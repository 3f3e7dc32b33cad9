// A few short tones for each thing that is heard, told apart by how their pitch goes. Browsers allow
// sound only after a first gesture.

/** Pitches in the order in which they come, Hz. */
const PATTERNS = {
  internal: [660, 990], // up: captured, foot outward
  external: [990, 660], // down: captured, foot inward
  flexion: [660, 660],
  rest: [523],
  mark: [1319],
  next: [784, 784, 784],
  step: [784, 784, 784],
  undo: [440, 330],
  "pain-stop": [294, 294, 294, 294],
};
const LENGTH_S = 0.16;
const LOUDNESS = 0.35;
const ONE_GESTURE_MS = 700; // from pressing a key or pointer to the click that it becomes

/** The page's sound; `onChange` is called when it becomes allowed or is turned off. */
export class Sound {
  constructor(onChange) {
    this.onChange = onChange;
    this.muted = false;
    this.context = null;
    this.allowedAt = -Infinity;
    for (const gesture of ["pointerdown", "keydown"]) {
      document.addEventListener(gesture, () => this.allow(), { capture: true });
    }
  }

  /** Whether a tone would be heard now. */
  get on() {
    return !this.muted && this.context?.state === "running";
  }

  /** Whether the browser still waits for a gesture. */
  get waiting() {
    return this.context?.state !== "running";
  }

  /** Starts the sound; does nothing once it runs. To be called from a gesture. */
  async allow() {
    if (!this.waiting) return;
    this.allowedAt = performance.now();
    if (!this.context) {
      this.context = new AudioContext();
      this.context.addEventListener("statechange", () => this.onChange());
    }
    await this.context.resume();
    this.onChange();
  }

  /** Turns the sound off and on again; the very click that allowed it does not turn it off. */
  toggle() {
    if (performance.now() - this.allowedAt < ONE_GESTURE_MS) return;
    this.muted = !this.muted;
    this.onChange();
  }

  /** The tones of a kept repetition or rest. */
  kept(what) {
    this.play(what);
  }

  /** One pattern; what has none is silent. */
  play(what) {
    if (!this.on) return;
    (PATTERNS[what] ?? []).forEach((pitch, index) => this.tone(pitch, index * LENGTH_S));
  }

  tone(frequency, afterS) {
    const begin = this.context.currentTime + afterS;
    const end = begin + LENGTH_S;
    const tone = new OscillatorNode(this.context, { frequency });
    const volume = new GainNode(this.context, { gain: 0 });
    volume.gain.setValueAtTime(0, begin);
    volume.gain.linearRampToValueAtTime(LOUDNESS, begin + 0.01);
    volume.gain.linearRampToValueAtTime(0, end);
    tone.connect(volume).connect(this.context.destination);
    tone.start(begin);
    tone.stop(end);
  }
}
