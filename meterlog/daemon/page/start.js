// Before a session: what to do, on what, by whom; and the sessions so far.

import { element, make, memory, setText } from "./dom.js";
import { VERDICT_SHAPES, withShape } from "./format.js";

const REMEMBERED = ["unit-model", "operator"];
const EXPORTS = { csv: "CSV", "csv-semicolon": "CSV, decimal comma", jsonl: "JSON Lines", xlsx: "XLSX" };

/** Links to the report and the exports of one session. */
export function sessionLinks(id) {
  const base = `/api/sessions/${encodeURIComponent(id)}`;
  const link = (text, href) => make("a", { href, target: "_blank", rel: "noopener" }, text);
  return [
    link("Report", `${base}/report`),
    ...Object.entries(EXPORTS).map(([format, text]) => link(text, `${base}/export?format=${format}`)),
  ];
}

function pastSession(session) {
  const began = session.began ? new Date(session.began).toLocaleString() : "";
  return make(
    "li",
    {},
    make("b", {}, session.unit),
    ` ${session.procedure} `,
    make("span", {}, session.ended ? withShape(VERDICT_SHAPES, session.verdict) : "not ended"),
    make("small", {}, `${began} `, ...sessionLinks(session.id).flatMap((link) => [" ", link])),
  );
}

export class Start {
  #procedures = [];

  /** begun() is called after the daemon has begun the session; pressed() first, within the press itself. */
  constructor(api, { pressed, begun }) {
    Object.assign(this, { api, pressed, begun });
    for (const id of REMEMBERED) element(id).value = memory.read(id, "");
    element("procedure").onchange = () => this.#describe();
    element("start-form").onsubmit = (event) => {
      event.preventDefault();
      this.pressed();
      this.#begin();
    };
  }

  async load() {
    const [procedures, sessions] = await Promise.all([this.api.get("/api/procedures"), this.api.get("/api/sessions")]);
    this.#procedures = procedures;
    const chosen = element("procedure").value;
    const options = procedures.map(({ name, title }) => make("option", { value: name }, title));
    element("procedure").replaceChildren(...options);
    if (procedures.some(({ name }) => name === chosen)) element("procedure").value = chosen;
    element("past-sessions").replaceChildren(
      ...(sessions.length ? sessions.map(pastSession) : [make("li", { className: "quiet" }, "None yet.")]),
    );
    this.#describe();
  }

  #describe() {
    const procedure = this.#procedures.find(({ name }) => name === element("procedure").value);
    const problems = procedure?.problems ?? [];
    setText(element("procedure-about"), procedure ? this.#about(procedure) : "No procedure was found.");
    element("procedure-problems").replaceChildren(...problems.map((problem) => make("li", {}, problem)));
    element("start-button").disabled = procedure === undefined || problems.length > 0;
  }

  #about({ unit, revision, file }) {
    return [unit && `for ${unit}`, revision && `revision ${revision}`, file].filter(Boolean).join(" · ");
  }

  async #begin() {
    setText(element("start-error"), "");
    for (const id of REMEMBERED) memory.write(id, element(id).value);
    try {
      await this.api.post("/api/sessions", {
        procedure: element("procedure").value,
        unit_model: element("unit-model").value.trim(),
        unit_serial: element("unit-serial").value.trim(),
        operator: element("operator").value.trim(),
      });
      this.begun();
    } catch (error) {
      setText(element("start-error"), error.message);
    }
  }
}
