// Says finished numbers, if the person wants it. Too slow to guide by; the tones do that.

const AFTER_CANCEL_MS = 60; // some browsers lose what is said in the same turn as cancel()
const STARTED_WITHIN_MS = 1000;

export class Speech {
  #waiting = 0;
  on = false;

  constructor(engine = globalThis.speechSynthesis) {
    this.engine = engine;
  }

  /** Voices may come late or never: asked each time. A local voice needs no network and does not break off. */
  get voice() {
    const voices = this.engine?.getVoices() ?? [];
    return voices.find((voice) => voice.localService) ?? voices[0] ?? null;
  }

  get state() {
    if (!this.on) return "Speech off";
    return this.voice === null ? "No voice here" : "Speech on";
  }

  /** The newest number wins over one that is still being said. */
  say(text) {
    if (!this.on || this.voice === null) return;
    this.engine.cancel();
    this.#later(AFTER_CANCEL_MS, () => this.#speak(text, true));
  }

  // No end event is relied on: remote voices may never send one. A start that does not come is tried once more.
  #speak(text, again) {
    const utterance = new SpeechSynthesisUtterance(text);
    utterance.voice = this.voice;
    utterance.lang = this.voice.lang;
    utterance.onstart = () => clearTimeout(this.#waiting);
    this.engine.speak(utterance);
    if (again) this.#later(STARTED_WITHIN_MS, () => this.#speak(text, false));
  }

  #later(wait_ms, then) {
    clearTimeout(this.#waiting);
    this.#waiting = setTimeout(then, wait_ms);
  }
}
