// What each sound is made of, as data. Times in seconds from the start of the sound, `level` 0..1.
// No tone stays on a usual test frequency (315, 400, 1000, 3150, 10000 Hz), so none is taken for the unit's.

import { BUZZ } from "./buzz.js";

const REFERENCE_HZ = 622;
const PITCH_OCTAVES = 1.5;
const TELLING_S = 0.1;
const SLOWEST_S = 0.9;
const FASTEST_S = 0.11;

/** One-shot sounds. Rising fifth: only after the daemon says that the value is on the disk. */
export const ONCE = {
  stored: [
    { at: 0, lasts: 0.12, hz: 784, level: 0.5 },
    { at: 0.12, lasts: 0.3, hz: 1175, level: 0.5 },
  ],
  accepted: [{ at: 0, lasts: 0.02, hz: 1850, level: 0.4, shape: "square" }],
  refused: [{ at: 0, lasts: 0.16, hz: 233, level: 0.4, shape: "triangle" }],
  alarm: [{ at: 0, lasts: 0.7, hz: 98, level: 0.6, shape: "sawtooth" }],
  "no link": [
    { at: 0, lasts: 0.35, hz: 147, level: 0.5, shape: "sawtooth" },
    { at: 0.45, lasts: 0.35, hz: 110, level: 0.5, shape: "sawtooth" },
  ],
  test: [{ at: 0, lasts: 0.25, hz: 880, level: 0.4 }],
};

const clamp = (value, low, high) => Math.min(high, Math.max(low, value));

/** Nearness 0..1 -> seconds between beeps; equal steps of nearness are equal ratios of tempo. */
export function tempoPeriod_s(nearness) {
  return SLOWEST_S * (FASTEST_S / SLOWEST_S) ** clamp(nearness, 0, 1);
}

/** Signed amount -1..1 -> pitch; 0 is the reference itself. */
export function pitchHz(distance) {
  return REFERENCE_HZ * 2 ** (PITCH_OCTAVES * clamp(distance, -1, 1));
}

/** cue {sound, amount} -> {period_s, notes} to be repeated, or null for silence. */
export function trainOf({ sound, amount }) {
  return TRAINS[sound]?.(amount) ?? null;
}

/** The reference, then the level beside it, louder the further away; on the target the two are one. */
function twoNotes(amount, lasts) {
  const level = 0.2 + 0.25 * clamp(Math.abs(amount), 0, 1);
  return [
    { at: 0, lasts, hz: REFERENCE_HZ, level: 0.2 },
    { at: TELLING_S, lasts, hz: pitchHz(amount), level },
  ];
}

const TRAINS = {
  alarm: () => BUZZ,
  tempo: (nearness) => ({
    period_s: tempoPeriod_s(nearness),
    notes: [{ at: 0, lasts: 0.06, hz: 740, level: 0.4 }],
  }),
  pitch: (amount) => ({ period_s: 0.2, notes: twoNotes(amount, 0.09) }),
  inside: () => ({
    period_s: 0.5,
    notes: [
      { at: 0, lasts: 0.4, hz: REFERENCE_HZ, level: 0.16 },
      { at: 0, lasts: 0.25, hz: 2.76 * REFERENCE_HZ, level: 0.05 }, // a bar's second partial: rings like a chime
    ],
  }),
  "slow down": (amount) => ({ period_s: 0.2, notes: twoNotes(amount, 0.04) }),
  press: () => ({
    period_s: 1.2,
    notes: [
      { at: 0, lasts: 0.1, hz: 523, level: 0.3 },
      { at: 0.14, lasts: 0.14, hz: 698, level: 0.3 },
    ],
  }),
};
