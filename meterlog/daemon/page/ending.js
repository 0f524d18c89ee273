// The end of a session: verdict, steps, and the way to the report.

import { element, setText } from "./dom.js";
import { VERDICT_SHAPES, withShape } from "./format.js";
import { issuedText } from "./issuing.js";
import { sessionLinks } from "./start.js";
import { Steps } from "./steps.js";

const SENTENCES = {
  pass: "Every judged value lies inside its window.",
  "conditional pass": "Every judged value lies inside its window, one of them by less than its uncertainty.",
  "conditional fail": "A value lies outside its window, by less than its uncertainty.",
  fail: "A value lies outside its window or too near its edge, or the unit was called inoperable.",
  "not judged": "Not everything was judged.",
};

export class Ending {
  #steps = new Steps(element("end-steps"));

  /** `condition` is that of the unit, {word, text}, `issued` what was handed over; null until the record tells it. */
  render({ id, verdict, name, plan, condition, issued }) {
    const node = element("end-verdict");
    setText(node, withShape(VERDICT_SHAPES, verdict));
    node.dataset.verdict = verdict;
    setText(element("end-unit"), [SENTENCES[verdict], name].filter(Boolean).join(" "));
    setText(element("end-condition"), condition ? `${condition.word}: ${condition.text}` : "");
    setText(element("end-issue"), issued?.length ? `Issued: ${issuedText(issued)}` : "Issue the report");
    element("end-links").replaceChildren(...sessionLinks(id));
    this.#steps.render(plan, null);
  }
}
