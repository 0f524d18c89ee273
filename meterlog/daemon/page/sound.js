// Plays tones on the audio clock. Everything audible follows a message of the daemon or a press; no timers.

import { ONCE, trainOf } from "./tones.js";

const AHEAD_S = 0.35; // as long as a pause between two messages; without messages the cues end
const CHANGE_S = 0.2; // another sound waits no longer than this after the last pulse: a change must be heard
const ATTACK_S = 0.008;
const FROZEN_MS = 1500;

export class Sound {
  #context = null;
  #pulses = []; // {at_s, sound, stop()}: the last one begun and those to come
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

  /** With every message: the cue's pulses for the short time until the next one, in place of those to come. */
  follow(cue) {
    if (this.state !== "on") return;
    this.#replaceFrozen();
    const now_s = this.#context.currentTime;
    this.#recall(now_s);
    const train = trainOf(cue);
    if (train === null) return;
    for (let at_s = this.#next_s(cue, train, now_s); at_s < now_s + AHEAD_S; at_s += train.period_s) {
      this.#pulses.push({ at_s, sound: cue.sound, stop: this.#play(train.notes, at_s) });
    }
  }

  // A pulse that has not begun tells a level that is no longer true.
  #recall(now_s) {
    for (const pulse of this.#pulses) if (pulse.at_s > now_s) pulse.stop();
    this.#pulses = this.#pulses.filter((pulse) => pulse.at_s <= now_s).slice(-1);
  }

  #next_s(cue, train, now_s) {
    const [last] = this.#pulses;
    if (last === undefined) return now_s;
    const wait_s = cue.sound === last.sound ? train.period_s : Math.min(train.period_s, CHANGE_S);
    return Math.max(now_s, last.at_s + wait_s);
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
      this.#pulses = [];
      this.#seen = { audio_s: -1, page_ms };
    }
  }

  /** Returns what keeps the notes from sounding. */
  #play(notes, from_s) {
    const oscillators = notes.map((note) => this.#playNote(note, from_s + note.at));
    return () => oscillators.forEach((oscillator) => oscillator.disconnect());
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
    return oscillator;
  }
}
