// A foot switch is a keyboard with few keys. This decides which key presses are it, and what they ask for.

export const DEBOUNCE_MS = 250;

/** What can be bound. "any" stands for every ordinary key that is bound to nothing else. */
export const DEFAULT_BINDINGS = { "go-on": "any", redo: "", mute: "KeyM" };

const NAMED_KEYS = /^(Enter|PageUp|PageDown|Home|End|Arrow\w+)$/;
const PRESSES_A_CONTROL = ["Enter", " "];

/** The name under which a key is bound; keyboards that send no code are known by what they type. */
export function nameOfKey(event) {
  return event.code && event.code !== "Unidentified" ? event.code : event.key;
}

const isOrdinary = (event) => event.key.length === 1 || NAMED_KEYS.test(event.key);

/** What is typed into a field, a list or an open dialog belongs there. So does Enter on a button reached by Tab. */
export function belongsElsewhere(event) {
  if (event.ctrlKey || event.altKey || event.metaKey || event.isComposing) return true;
  if (document.querySelector("dialog[open]")) return true;
  const target = event.target instanceof Element ? event.target : document.body;
  if (target.closest("input, textarea, select, [contenteditable]")) return true;
  return PRESSES_A_CONTROL.includes(event.key) && target.closest("button, a, summary") !== null;
}

/** "go-on", "redo", "mute" or null. */
export function meaningOf(event, bindings) {
  const key = nameOfKey(event);
  const bound = Object.keys(bindings).find((meaning) => bindings[meaning] === key);
  if (bound) return bound;
  const any = Object.keys(bindings).find((meaning) => bindings[meaning] === "any");
  return any && isOrdinary(event) ? any : null;
}

export class Pedal {
  #accepted_ms = -Infinity;

  /** press(meaning) is called once for each press that counts. */
  constructor(bindings, press) {
    this.bindings = bindings;
    this.press = press;
  }

  listen(target) {
    target.addEventListener("keydown", (event) => this.#keydown(event));
  }

  #keydown(event) {
    if (belongsElsewhere(event)) return;
    const meaning = meaningOf(event, this.bindings);
    if (meaning === null) return;
    event.preventDefault(); // a pedal that types a space or an arrow must not scroll the page
    if (event.repeat || event.timeStamp - this.#accepted_ms < DEBOUNCE_MS) return;
    this.#accepted_ms = event.timeStamp;
    this.press(meaning);
  }
}
