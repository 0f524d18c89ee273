// The sound of a guard's alarm: two low notes that beat against each other, rough and unlike every other sound.
// Low and on no usual test frequency, nor on the hum of the mains (50, 60, 100, 120 Hz).

export const BUZZ = {
  period_s: 0.5,
  notes: [
    { at: 0, lasts: 0.42, hz: 139, level: 0.35, shape: "sawtooth" },
    { at: 0, lasts: 0.42, hz: 131, level: 0.35, shape: "sawtooth" },
  ],
};
