// The field for what a step wants typed in, a reading or a name. It is there only while that is asked for.

import { leaveFocus } from "./ask.js";
import { element, setText } from "./dom.js";

export class Entry {
  #asked = ""; // what for, and where in the session; "" while nothing is
  #awaited = ""; // what an answer is awaited for; "" when none is

  /** enter(text) resolves to why it was refused, "" if it was taken. */
  constructor(enter) {
    this.enter = enter;
    this.form = element("entry");
    this.field = element("entry-text");
    this.form.onsubmit = (event) => {
      event.preventDefault();
      this.#send();
    };
  }

  /** What is typed goes to the step it was asked for: another step, or another round, begins with nothing. */
  render({ guide, place, state }) {
    const wanted = state === "running" ? guide.asks_for : "";
    const asked = wanted && `${place} ${guide.round} ${wanted}`;
    if (asked === this.#asked) return;
    this.#asked = asked;
    this.field.value = "";
    setText(element("entry-label"), wanted);
    this.#refuse("");
    if (wanted === "") this.hide();
    else this.#offer();
  }

  hide() {
    this.#asked = "";
    if (document.activeElement === this.field) leaveFocus(); // the pedal's keys are the pedal's again
    this.form.hidden = true;
  }

  #offer() {
    this.form.hidden = false;
    if (!document.querySelector("dialog[open]")) this.field.focus();
  }

  // A bouncing Enter is sent once. When the answer comes the session may have gone on: what is typed by then
  // belongs to the step it is at.
  async #send() {
    const text = this.field.value.trim();
    const asked = this.#asked;
    if (this.#awaited === asked) return;
    if (text === "") {
      this.#refuse(`Type the ${element("entry-label").textContent} first.`);
      return;
    }
    this.#awaited = asked;
    const why = await this.enter(text);
    if (this.#awaited === asked) this.#awaited = "";
    if (this.#asked === asked) this.#answered(why);
  }

  #answered(why) {
    this.#refuse(why);
    if (why === "") this.field.value = "";
    else this.field.select();
  }

  #refuse(why) {
    setText(element("entry-refused"), why);
  }
}
