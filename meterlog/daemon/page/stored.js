// What the daemon has announced as stored: nothing else ever appears here.

import { element, make } from "./dom.js";
import { VERDICT_SHAPES, withShape } from "./format.js";

const SHOWN = 3;


export class Stored {
  #values = new Map();
  #session = null;
  #titles = new Map();

  /** The plan tells what the steps are called; a value knows its step by its id only. */
  name(plan) {
    const known = this.#titles.size;
    for (const { step, title } of plan) this.#titles.set(step, title);
    if (this.#titles.size !== known) this.#render();
  }

  /** True if numbers before this one were announced while the page was not listening. */
  add(settled) {
    const missed = settled.number > Math.max(0, ...this.#values.keys()) + 1;
    this.#values.set(settled.number, settled);
    this.#render();
    return missed;
  }

  /** What the record itself says; called after every new connection. */
  merge(session, values) {
    this.of(session);
    for (const settled of values) this.#values.set(settled.number, settled);
    this.#render();
  }

  of(session) {
    if (session === this.#session) return;
    this.#session = session;
    this.#values.clear();
    this.#titles.clear();
    this.#render();
  }

  #render() {
    const newest = [...this.#values.values()].sort((one, other) => other.number - one.number).slice(0, SHOWN);
    element("stored").replaceChildren(...newest.map((settled) => this.#item(settled)));
  }

  #item(settled) {
    const verdict = make("span", {}, withShape(VERDICT_SHAPES, settled.verdict));
    verdict.dataset.verdict = settled.verdict;
    return make(
      "li",
      {},
      make("b", {}, settled.text),
      " ",
      verdict,
      make("small", {}, `${this.#described(settled)} · ${settled.pass_} · no. ${settled.number}`),
    );
  }

  #described({ step, condition, role, passes_text: passes }) {
    return [this.#titles.get(step) ?? step, condition, role, passes].filter(Boolean).join(", ");
  }
}

/** What speech says of a stored value. */
export const spoken = ({ text, verdict }) => (verdict === "not judged" ? text : `${text}, ${verdict}`);
