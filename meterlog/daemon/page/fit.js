// Whether the meters are good enough for the procedure that is chosen; where one is not, why it is begun all the same.

import { element, make, setText } from "./dom.js";

const WORDS = ["adequate", "marginal", "not adequate", "not known"];
const UNFIT = "not adequate";

/** "Meters: 4 adequate, 1 marginal"; "" where none is described. */
function summary(rows) {
  const counts = WORDS.map((word) => [rows.filter(({ fit }) => fit === word).length, word]);
  const told = counts.filter(([count]) => count).map(([count, word]) => `${count} ${word}`);
  return told.length ? `Meters: ${told.join(", ")}` : "";
}

function worstFirst(rows) {
  const order = [UNFIT, "marginal", "not known", "adequate"];
  return [...rows].sort((one, other) => order.indexOf(one.fit) - order.indexOf(other.fit));
}

export class Fit {
  #asked = ""; // the procedure whose answer is awaited or shown

  constructor(api) {
    this.api = api;
  }

  /** What stands in the way is shown at once; a procedure that cannot be used, or none, shows nothing. */
  async show(procedure) {
    this.#asked = procedure;
    this.#render([]);
    if (!procedure) return;
    const rows = await this.api.get(`/api/procedures/${encodeURIComponent(procedure)}/fit`).catch(() => []);
    if (this.#asked === procedure) this.#render(rows);
  }

  get override() {
    return element("override").value.trim();
  }

  #render(rows) {
    const unfit = rows.some(({ fit }) => fit === UNFIT);
    setText(element("fit-summary"), summary(rows));
    element("fit").hidden = rows.length === 0;
    element("fit").open = unfit;
    element("fit-rows").replaceChildren(...worstFirst(rows).map((row) => this.#row(row)));
    element("override-label").hidden = !unfit;
    element("override").required = unfit;
    element("override").value = "";
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
      make("small", {}, row.why),
    );
  }
}
