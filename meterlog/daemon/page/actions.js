// What the operator asks of the session: by button, by pedal, with or without words.

import { ask } from "./ask.js";
import { element, setText } from "./dom.js";

const REDO_CHOICES = ["screwdriver slipped", "wrong setting", "probe moved"];
const SKIP = {
  label: "Reason (kept in the record)",
  confirm: "Skip",
  choices: ["not fitted to this unit", "trimmer at its end", "not possible today"],
};

/** What asks for a reason, which is kept in the record; break-off and inoperable end the session. */
const REASONED = {
  skip: { ...SKIP, title: "Skip this step" },
  "skip-row": { ...SKIP, title: "Leave this row out" },
  "break-off": {
    title: "Break off: the session ends here",
    label: "Reason (kept in the record). What was measured stays; the unit is not judged unless it has failed.",
    confirm: "End the session",
    choices: ["part missing", "customer's decision", "something else is wrong"],
  },
  inoperable: {
    title: "Inoperable: the unit cannot be aligned, the session ends here",
    label: "Reason (kept in the record). The unit fails; what was found stays.",
    confirm: "Call it inoperable",
    choices: ["no output at all", "draws too much current", "trimmer broken"],
  },
  "other-meter": {
    title: "Another meter than before is meant",
    label: "Reason (kept in the record, and shown by the report). What the bench file says of its meter must be true of this one.",
    confirm: "Use this meter",
    choices: ["the other one is at calibration", "the other one has failed"],
  },
};

export class Actions {
  /** accepted() and refused() are called after the daemon has answered. */
  constructor(api, { accepted, refused }) {
    Object.assign(this, { api, accepted, refused });
    element("go-on").onclick = () => this.act("go-on");
    element("redo").onclick = () => this.redo();
    element("redo-row").onclick = () => this.act("redo-row");
    for (const kind of Object.keys(REASONED)) element(kind).onclick = () => this.#withReason(kind);
    element("note").onclick = () => this.#note();
    element("environment").onclick = () => this.#environment();
    element("pause").onclick = () => this.act(this.paused ? "resume" : "pause");
    element("set-aside").onclick = () => this.act("set-aside");
  }

  paused = false;

  /** Resolves to why it was not accepted, "" if it was. */
  async act(kind, text = "", place = null) {
    try {
      const answer = await this.api.post("/api/session/action", { kind, text, place });
      return this.#answer(answer.accepted, answer.message);
    } catch (error) {
      return this.#answer(false, error.message);
    }
  }

  /** Redo the step at hand, or the ended step `item` of the plan. */
  async redo(item = null) {
    const text = await ask({
      title: item ? `Redo: ${item.title}, ${item.pass_}` : "Redo this step",
      label: "Reason. The old values stay in the record beside the new ones.",
      confirm: "Redo",
      choices: REDO_CHOICES,
    });
    if (text !== null) this.act("redo", text, item?.place ?? null);
  }

  async #withReason(kind) {
    const text = await ask({ ...REASONED[kind], required: true });
    if (text !== null) this.act(kind, text);
  }

  async #note() {
    const label = "Kept in the record with the time";
    const text = await ask({ title: "Note", label, confirm: "Keep", required: true });
    if (text !== null) this.act("note", text);
  }

  async #environment() {
    const label = "Of the bench from now on, such as 24 degC, 40 % RH";
    const text = await ask({ title: "Temperature and humidity", label, confirm: "Keep", required: true });
    if (text !== null) this.act("environment", text);
  }

  #answer(accepted, message) {
    const reply = element("reply");
    const text = message || (accepted ? "" : "Not accepted.");
    setText(reply, text);
    reply.dataset.accepted = accepted;
    if (accepted) this.accepted();
    else this.refused();
    return accepted ? "" : text;
  }
}
