// Words and shapes for what the daemon says in states. Numbers arrive as finished texts.

export const STATE_SHAPES = {
  waiting: "○", moving: "≈", settling: "◔", settled: "●", done: "✓", skipped: "↷",
};
export const VERDICT_SHAPES = {
  pass: "✓", "conditional pass": "(✓)", "conditional fail": "(✗)", fail: "✗", "not judged": "–",
};
export const ARROWS = { up: "▲", down: "▼", hold: "●" };

export const withShape = (shapes, word) => (word ? `${shapes[word] ?? ""} ${word}`.trim() : "");

/** "-0.35 dB" -> "0.35 dB": beside an arrow the sign would say it twice, and once wrongly. */
export const unsigned = (text) => text.replace(/^[+\-−]\s*/, "");

/** "+4.00 dBu", "dBu" -> "+4.00" */
export function withoutUnit(text, unitText) {
  return unitText && text.endsWith(unitText) ? text.slice(0, -unitText.length).trimEnd() : text;
}

export function ageText(age_s) {
  if (age_s === null || age_s === undefined) return "";
  if (age_s < 10) return `${age_s.toFixed(1)} s`;
  return age_s < 90 ? `${Math.round(age_s)} s` : `${Math.round(age_s / 60)} min`;
}

/** What on the meter makes its display unfit to be captured: hold, relative, minimum, maximum. */
export const flagsText = (flags = []) => (flags.length ? `${flags.join(", ")} on the meter` : "");

/** Digits after the point in a finished text, so that what the page rounds looks the same. */
export function decimals(text) {
  return /[.,](\d+)/.exec(text)?.[1].length ?? 0;
}

const beyond = (value, low, high) => {
  if (low !== null && value < low) return "low";
  return high !== null && value > high ? "high" : "";
};

/** "low", "inside" or "high", and "short" inside the limits but within the guard band; "" where nothing limits or
 * there is no value. */
export function whereInWindow({ present, low, high, accept_low = null, accept_high = null }) {
  if (present === null || (low === null && high === null)) return "";
  return beyond(present, low, high) || (beyond(present, accept_low, accept_high) ? "short" : "inside");
}

/** What passes, in words, where a guard band makes that less than the limits. */
export function passesText({ accept_low_text: from = "", accept_high_text: to = "", nothing_left = false }) {
  if (nothing_left) return "nothing passes: the guard band leaves none of the window";
  if (from && to) return `passes from ${from} to ${to}`;
  return from ? `passes from ${from}` : to && `passes up to ${to}`;
}
