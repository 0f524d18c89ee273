// Plays tones on the audio clock. Everything audible follows a message of the daemon or a press; no timers.

import { ONCE, trainOf } from "./tones.js";

const AHEAD_S = 0.35; // as long as a pause between two messages; without messages the cues end
const ATTACK_S = 0.008;
const FROZEN_MS = 1500;

export class Sound {
  #context = null;
  #lastPulse_s = -1;
  #seen = { audio_s: -1, page_ms: 0 };
  muted = false;

  constructor(makeContext = () => new AudioContext()) {
    this.makeContext = makeContext;
  }

  /** "off" (never turned on), "blocked" (the browser holds it back), "muted" or "on". */
  get state() {
    if (this.#context === null) return "off";
    if (this.#context.state !== "running") return "blocked";
    return this.muted ? "muted" : "on";
  }

  /** To be called from a press or click: browsers start audio for nothing else. */
  turnOn() {
    this.muted = false;
    this.wake();
    this.once("test");
  }

  /** From any later press: an interrupted context wants to be asked again. resume() may never settle. */
  wake() {
    this.#context ??= this.makeContext();
    if (this.#context.state !== "running") this.#context.resume().catch(() => {});
  }

  once(name) {
    if (this.#context !== null && !this.muted) this.#play(ONCE[name], this.#context.currentTime);
  }

  /** With every message: go on with the cue's pulses for the short time until the next message. */
  follow(cue) {
    if (this.state !== "on") return;
    this.#replaceFrozen();
    const train = trainOf(cue);
    if (train === null) return;
    const now_s = this.#context.currentTime;
    let at_s = Math.max(this.#lastPulse_s + train.period_s, now_s);
    for (; at_s < now_s + AHEAD_S; at_s += train.period_s) {
      this.#play(train.notes, at_s);
      this.#lastPulse_s = at_s;
    }
  }

  // Some browsers come back from a tab switch "running" with a clock that stands still; only a new context helps.
  #replaceFrozen() {
    const audio_s = this.#context.currentTime;
    const page_ms = performance.now();
    if (audio_s !== this.#seen.audio_s) {
      this.#seen = { audio_s, page_ms };
    } else if (page_ms - this.#seen.page_ms > FROZEN_MS) {
      this.#context.close().catch(() => {});
      this.#context = null;
      this.wake();
      this.#lastPulse_s = -1;
      this.#seen = { audio_s: -1, page_ms };
    }
  }

  #play(notes, from_s) {
    for (const note of notes) this.#playNote(note, from_s + note.at);
  }

  #playNote({ lasts, hz, to_hz = hz, level, shape = "sine" }, at_s) {
    const oscillator = this.#context.createOscillator();
    const gain = this.#context.createGain();
    const end_s = at_s + lasts;
    oscillator.type = shape;
    oscillator.frequency.setValueAtTime(hz, at_s);
    oscillator.frequency.linearRampToValueAtTime(to_hz, end_s);
    gain.gain.setValueAtTime(0, at_s);
    gain.gain.linearRampToValueAtTime(level, at_s + ATTACK_S);
    gain.gain.setValueAtTime(level, Math.max(at_s + ATTACK_S, end_s - lasts / 2));
    gain.gain.linearRampToValueAtTime(0, end_s);
    oscillator.connect(gain).connect(this.#context.destination);
    oscillator.start(at_s);
    oscillator.stop(end_s);
  }
}
