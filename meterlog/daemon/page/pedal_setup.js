// Binding the foot switch's keys.

import { leaveFocus } from "./ask.js";
import { element, make, memory } from "./dom.js";
import { DEFAULT_BINDINGS, nameOfKey } from "./pedal.js";

const WORDS = { "go-on": "Go on", redo: "Redo", mute: "Mute the sound" };
const NOT_BINDABLE = ["Tab", "Escape", "Shift", "Control", "Alt", "Meta"];

export const savedBindings = () => ({ ...DEFAULT_BINDINGS, ...memory.read("pedal", {}) });

const keyText = (key) => ({ any: "any key", "": "none" })[key] ?? key.replace(/^Key/, "");

/** A key means one thing: binding it here takes it from where it was. */
export function bind(bindings, meaning, key) {
  const others = Object.entries(bindings).map(([other, bound]) => [other, bound === key ? "" : bound]);
  return { ...Object.fromEntries(others), [meaning]: key };
}

export class PedalSetup {
  #waitingFor = null;

  constructor(pedal) {
    this.pedal = pedal;
    this.dialog = element("pedal-dialog");
    element("pedal-setup").onclick = () => this.#open();
    element("pedal-close").onclick = () => this.dialog.close();
    this.dialog.onclose = () => this.#close();
    window.addEventListener("keydown", (event) => this.#keydown(event));
  }

  #open() {
    this.#render();
    this.dialog.showModal();
  }

  #close() {
    this.#waitingFor = null;
    leaveFocus();
  }

  // Listens on the window: the button that was pressed is drawn anew, so nothing in the dialog has the focus.
  #keydown(event) {
    if (this.#waitingFor === null || event.repeat || NOT_BINDABLE.includes(event.key)) return;
    event.preventDefault();
    this.#keep(bind(this.pedal.bindings, this.#waitingFor, nameOfKey(event)));
  }

  #keep(bindings) {
    this.#waitingFor = null;
    this.pedal.bindings = bindings;
    memory.write("pedal", bindings);
    this.#render();
  }

  #render() {
    element("pedal-bindings").replaceChildren(...Object.keys(WORDS).map((meaning) => this.#row(meaning)));
  }

  #row(meaning) {
    const waiting = this.#waitingFor === meaning;
    const bindButton = make("button", { type: "button" }, waiting ? "press the switch…" : "Bind");
    bindButton.onclick = () => {
      this.#waitingFor = meaning;
      this.#render();
    };
    const resetButton = make("button", { type: "button" }, "Reset");
    resetButton.onclick = () => this.#keep(bind(this.pedal.bindings, meaning, DEFAULT_BINDINGS[meaning]));
    const key = make("td", { className: "key" }, keyText(this.pedal.bindings[meaning]));
    return make("tr", {}, make("th", { scope: "row" }, WORDS[meaning]), key, make("td", {}, bindButton, resetButton));
  }
}
