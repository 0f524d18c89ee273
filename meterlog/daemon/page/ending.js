// The end of a session: verdict, steps, and the way to the report.

import { element, setText } from "./dom.js";
import { VERDICT_SHAPES, withShape } from "./format.js";
import { sessionLinks } from "./start.js";
import { Steps } from "./steps.js";

const SENTENCES = {
  pass: "Every judged value lies inside its window.",
  fail: "At least one value lies outside its window.",
  "not judged": "No value was judged.",
};

export class Ending {
  #steps = new Steps(element("end-steps"));

  render({ id, verdict, name, plan }) {
    const node = element("end-verdict");
    setText(node, withShape(VERDICT_SHAPES, verdict));
    node.dataset.verdict = verdict;
    setText(element("end-unit"), [SENTENCES[verdict], name].filter(Boolean).join(" "));
    element("end-links").replaceChildren(...sessionLinks(id));
    this.#steps.render(plan, null);
  }
}
