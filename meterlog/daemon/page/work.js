// The words around the digits: where we are, what to do now, how the level moves, and why it does not count yet.

import { element, setText, showText } from "./dom.js";
import { STATE_SHAPES, withShape } from "./format.js";

function placeText({ plan, place, pass_, title }) {
  return `Step ${plan.findIndex((item) => item.place === place) + 1} of ${plan.length} · ${pass_} · ${title}`;
}

function phaseText({ phase, round }) {
  return [phase, round > 1 ? `round ${round}` : ""].filter(Boolean).join(" · ");
}

export function renderWords(view) {
  const { guide } = view;
  const paused = view.state === "paused";
  setText(element("place"), placeText(view));
  setText(element("phase"), phaseText(guide));
  setText(element("do-now"), paused ? "Paused. Nothing is captured until you resume." : guide.do_now);
  showText(element("step-text"), view.text === guide.do_now ? "" : view.text);
  showText(element("caution"), view.caution ? `Caution: ${view.caution}` : "");
  renderMotion(view.step_state, guide);
  setText(element("pause"), paused ? "Resume" : "Pause");
  element("go-on").classList.toggle("awaited", guide.awaiting_go_on && !paused);
  element("other-meter").hidden = !view.other_meters;
  for (const id of ["redo-row", "skip-row"]) element(id).hidden = view.pattern !== "table";
}

function renderMotion(state, { progress, why_not }) {
  setText(element("motion"), withShape(STATE_SHAPES, state));
  element("motion").dataset.state = state;
  element("dwell").hidden = progress === null;
  element("dwell").value = progress ?? 0;
  setText(element("why-not"), why_not);
}
