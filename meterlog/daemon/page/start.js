// Before a session: what to do, on what, by whom; and the sessions so far.

import { ask } from "./ask.js";
import { element, make, memory, setText } from "./dom.js";
import { Fit } from "./fit.js";
import { VERDICT_SHAPES, withShape } from "./format.js";

const REMEMBERED = ["unit-model", "operator"];
const UNFIT = "meters"; // what a refusal is about that a reason lifts
const PARTED = { "set-aside": "set aside", "break-off": "broken off", inoperable: "inoperable" };
const EXPORTS = { csv: "CSV", "csv-semicolon": "CSV, decimal comma", jsonl: "JSON Lines", parquet: "Parquet", xlsx: "XLSX" };

/** Links to the report and the exports of one session. */
export function sessionLinks(id) {
  const base = `/api/sessions/${encodeURIComponent(id)}`;
  const link = (text, href) => make("a", { href, target: "_blank", rel: "noopener" }, text);
  return [
    link("Report", `${base}/report`),
    link("PDF", `${base}/report?format=pdf`),
    link("Test sheet", `${base}/report?format=pdf&sheet=true`),
    ...Object.entries(EXPORTS).map(([format, text]) => link(text, `${base}/export?format=${format}`)),
  ];
}

/** "Batch June: 3 of 10 done, 2 the first time; next 004". */
function batchText({ name, units, done, first_time, next }) {
  const so_far = `Batch ${name}: ${done} of ${units.length} done, ${first_time} the first time`;
  return next ? `${so_far}; next ${next}` : `${so_far}; none is left`;
}

/** How a session stands: its verdict or "not ended", and how somebody parted from it before its last step. */
function standing({ ended, verdict, parting, reason }) {
  const how = PARTED[parting];
  const parted = how && (reason ? `${how}: ${reason}` : how);
  const open = parted ? "" : "not ended";
  return [ended ? withShape(VERDICT_SHAPES, verdict) : open, parted].filter(Boolean).join(", ");
}

function pastSession(session, { goOn, issue }) {
  const issued = session.issued_numbers.join(", ");
  const [text, act] = session.ended ? [issued ? `Issued ${issued}` : "Issue", issue] : ["Go on with it", goOn];
  const began = session.began ? new Date(session.began).toLocaleString() : "";
  return make(
    "li",
    {},
    make("b", {}, session.unit),
    ` ${session.procedure} `,
    make("span", {}, `${standing(session)} `),
    make("button", { type: "button", onclick: () => act(session) }, text),
    make("small", {}, `${began} `, ...sessionLinks(session.id).flatMap((link) => [" ", link])),
  );
}

export class Start {
  #procedures = [];
  #batch = null;

  /** begun() is called after the daemon has begun the session; pressed() first, within the press itself.
   * issue(session) is called for one that has ended. */
  constructor(api, { pressed, begun, issue }) {
    Object.assign(this, { api, pressed, begun, issue });
    this.fit = new Fit(api);
    for (const id of REMEMBERED) element(id).value = memory.read(id, "");
    element("procedure").onchange = () => this.#describe();
    element("start-form").onsubmit = (event) => {
      event.preventDefault();
      this.pressed();
      this.#begin();
    };
  }

  async load() {
    const [procedures, sessions, batch] = await Promise.all(
      ["/api/procedures", "/api/sessions", "/api/batch"].map((path) => this.api.get(path)),
    );
    this.#procedures = procedures;
    const chosen = element("procedure").value;
    const options = procedures.map(({ name, title }) => make("option", { value: name }, title));
    element("procedure").replaceChildren(...options);
    if (procedures.some(({ name }) => name === chosen)) element("procedure").value = chosen;
    element("past-sessions").replaceChildren(
      ...(sessions.length ? sessions.map((session) => this.#past(session)) : [make("li", { className: "quiet" }, "None yet.")]),
    );
    this.#offer(batch);
    this.#describe();
  }

  #past(session) {
    return pastSession(session, { goOn: ({ id }) => this.#goOn(id), issue: this.issue });
  }

  /** A batch says what comes next; another unit may be typed in all the same. */
  #offer(batch) {
    const fresh = batch?.next !== this.#batch?.next;
    this.#batch = batch;
    setText(element("batch-about"), batch ? batchText(batch) : "");
    if (!batch || !fresh) return;
    if (this.#procedures.some(({ name }) => name === batch.procedure)) element("procedure").value = batch.procedure;
    element("unit-model").value = batch.unit_model;
    element("unit-serial").value = batch.next;
  }

  /** `override`: why with a meter that is not good enough for a step; asked for when the daemon wants it. */
  async #goOn(id, override = "") {
    this.pressed();
    setText(element("start-error"), "");
    try {
      await this.api.post(`/api/sessions/${encodeURIComponent(id)}/go-on`, { override });
      this.begun();
    } catch (error) {
      setText(element("start-error"), error.message);
      if (error.where === UNFIT && !override) this.#goOnAllTheSame(id);
    }
  }

  async #goOnAllTheSame(id) {
    const title = "Not good enough: a meter on this bench";
    const label = "Why go on all the same? The report shows it.";
    const why = await ask({ title, label, confirm: "Go on", required: true });
    if (why) this.#goOn(id, why);
  }

  #describe() {
    const procedure = this.#procedures.find(({ name }) => name === element("procedure").value);
    const problems = procedure?.problems ?? [];
    setText(element("procedure-about"), procedure ? this.#about(procedure) : "No procedure was found.");
    element("procedure-problems").replaceChildren(...problems.map((problem) => make("li", {}, problem)));
    element("procedure-warnings").replaceChildren(
      ...(procedure?.warnings ?? []).map((warning) => make("li", {}, warning)),
    );
    element("start-button").disabled = procedure === undefined || problems.length > 0;
    this.fit.show(problems.length > 0 ? "" : procedure?.name ?? "");
  }

  #about({ unit, revision, file }) {
    return [unit && `for ${unit}`, revision && `revision ${revision}`, file].filter(Boolean).join(" · ");
  }

  /** What may be left open; an empty field says nothing. */
  #told() {
    const text = (id) => element(id).value.trim();
    const number = (id) => (text(id) === "" ? null : Number(text(id)));
    return {
      temperature_c: number("temperature"),
      humidity_percent: number("humidity"),
      customer: text("customer"),
      customer_says: text("customer-says"),
      received: text("received") || null,
      work_place: text("work-place"),
    };
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
        batch: this.#batch?.name ?? "",
        override: this.fit.override,
        ...this.#told(),
      });
      this.begun();
    } catch (error) {
      setText(element("start-error"), error.message);
    }
  }
}
