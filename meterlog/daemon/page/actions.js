// What the operator asks of the session: by button, by pedal, with or without words.

import { ask } from "./ask.js";
import { element, setText } from "./dom.js";

const REASONS = {
  redo: ["screwdriver slipped", "wrong setting", "probe moved"],
  skip: ["not fitted to this unit", "trimmer at its end", "not possible today"],
};

export class Actions {
  /** accepted() and refused() are called after the daemon has answered. */
  constructor(api, { accepted, refused }) {
    Object.assign(this, { api, accepted, refused });
    element("go-on").onclick = () => this.act("go-on");
    element("redo").onclick = () => this.redo();
    element("redo-row").onclick = () => this.act("redo-row");
    element("skip").onclick = () => this.#skip("skip", "Skip this step");
    element("skip-row").onclick = () => this.#skip("skip-row", "Leave this row out");
    element("note").onclick = () => this.#note();
    element("pause").onclick = () => this.act(this.paused ? "resume" : "pause");
    element("set-aside").onclick = () => this.act("set-aside");
  }

  paused = false;

  async act(kind, text = "", place = null) {
    try {
      const answer = await this.api.post("/api/session/action", { kind, text, place });
      this.#answer(answer.accepted, answer.message);
    } catch (error) {
      this.#answer(false, error.message);
    }
  }

  /** Redo the step at hand, or the ended step `item` of the plan. */
  async redo(item = null) {
    const text = await ask({
      title: item ? `Redo: ${item.title}, ${item.pass_}` : "Redo this step",
      label: "Reason. The old values stay in the record beside the new ones.",
      confirm: "Redo",
      choices: REASONS.redo,
    });
    if (text !== null) this.act("redo", text, item?.place ?? null);
  }

  async #skip(kind, title) {
    const text = await ask({
      title,
      label: "Reason (kept in the record)",
      confirm: "Skip",
      required: true,
      choices: REASONS.skip,
    });
    if (text !== null) this.act(kind, text);
  }

  async #note() {
    const label = "Kept in the record with the time";
    const text = await ask({ title: "Note", label, confirm: "Keep", required: true });
    if (text !== null) this.act("note", text);
  }

  #answer(accepted, message) {
    const reply = element("reply");
    setText(reply, message || (accepted ? "" : "Not accepted."));
    reply.dataset.accepted = accepted;
    if (accepted) this.accepted();
    else this.refused();
  }
}
