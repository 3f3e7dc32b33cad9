// A short tone for each kept repetition. Browsers allow sound only after a first gesture.

const PITCH_HZ = { internal: 880, external: 660, rest: 523 };
const LENGTH_S = 0.22;
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

  /** The tone of a kept repetition: higher for internal, lower for external; lowest for a rest. */
  kept(what) {
    if (!this.on) return;
    const [begin, end] = [this.context.currentTime, this.context.currentTime + LENGTH_S];
    const tone = new OscillatorNode(this.context, { frequency: PITCH_HZ[what] });
    const volume = new GainNode(this.context, { gain: 0 });
    volume.gain.setValueAtTime(0, begin);
    volume.gain.linearRampToValueAtTime(LOUDNESS, begin + 0.01);
    volume.gain.linearRampToValueAtTime(0, end);
    tone.connect(volume).connect(this.context.destination);
    tone.start(begin);
    tone.stop(end);
  }
}
