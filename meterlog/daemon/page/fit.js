// Whether the meters are good enough for the procedure that is chosen; where one is not, why it is begun all the same.

import { element, make, setText } from "./dom.js";

const WORDS = ["adequate", "marginal", "not adequate", "not known"];
const UNFIT = "not adequate";

/** "Meters at 31 °C: 4 adequate, 1 marginal"; "" where none is described. */
function summary(rows, temperature) {
  const counts = WORDS.map((word) => [rows.filter(({ fit }) => fit === word).length, word]);
  const told = counts.filter(([count]) => count).map(([count, word]) => `${count} ${word}`);
  const at = temperature && ` at ${temperature} °C`;
  return told.length ? `Meters${at}: ${told.join(", ")}` : "";
}

function worstFirst(rows) {
  const order = [UNFIT, "marginal", "not known", "adequate"];
  return [...rows].sort((one, other) => order.indexOf(one.fit) - order.indexOf(other.fit));
}

/** As it stands in its field, told apart from an empty one where it is no number. */
function temperature() {
  const { validity, value } = element("temperature");
  return validity.badInput ? "no number" : value;
}

export class Fit {
  #procedure = ""; // whose fit is shown
  #asked = 0; // only the answer to the newest question is shown
  #at = ""; // the temperature in it

  constructor(api) {
    this.api = api;
    // What is no number at all is no change to some browsers, so leaving the field counts too.
    element("temperature").onchange = element("temperature").onblur = () => temperature() !== this.#at && this.#ask();
  }

  /** What stands in the way is shown at once; a procedure that cannot be used, or none, shows nothing. */
  async show(procedure) {
    if (procedure !== this.#procedure) this.#render([]);
    this.#procedure = procedure;
    await this.#ask();
  }

  async #ask() {
    const asked = ++this.#asked;
    this.#at = temperature();
    const { rows, error } = await this.#answer().catch(({ message }) => ({ rows: [], error: message }));
    if (asked !== this.#asked) return;
    this.#render(rows);
    setText(element("fit-error"), error ?? "");
  }

  async #answer() {
    const { validity, value, min, max } = element("temperature");
    if (!validity.valid) return { rows: [], error: `No temperature of a bench: write a number of degC, ${min} to ${max}.` };
    if (!this.#procedure) return { rows: [] };
    const at = value && `?temperature_c=${encodeURIComponent(value)}`;
    return { rows: await this.api.get(`/api/procedures/${encodeURIComponent(this.#procedure)}/fit${at}`) };
  }

  get override() {
    return element("override").value.trim();
  }

  #render(rows) {
    const unfit = rows.some(({ fit }) => fit === UNFIT);
    setText(element("fit-summary"), summary(rows, element("temperature").value));
    element("fit").hidden = rows.length === 0;
    element("fit").open = unfit;
    element("fit-rows").replaceChildren(...worstFirst(rows).map((row) => this.#row(row)));
    element("override-label").hidden = !unfit;
    element("override").required = unfit;
    if (!unfit) element("override").value = "";
  }

  #row(row) {
    const where = [row.channel, row.level, row.frequency].filter(Boolean).join(", ");
    const measures = [row.ratio !== null && `ratio ${row.ratio}`, row.counts !== null && `${row.counts} counts`];
    const word = make("span", {}, row.fit);
    word.dataset.fit = row.fit;
    if (row.accepted_percent !== null && row.accepted_percent !== 100) {
      measures.push(`passes in ${row.accepted_percent} % of the window`);
    }
    const told = measures.filter(Boolean).join(", ");
    return make(
      "li",
      {},
      make("b", {}, [row.step, row.part].filter(Boolean).join(" ")),
      ` ${where}: `,
      word,
      told && ` (${told})`,
      make("small", {}, [row.supposed, row.profile, row.why].filter(Boolean).join("; ")),
    );
  }
}
