// Target and window as a horizontal scale with a moving marker.
// The window is drawn evenly; what lies outside is pressed together, so that the marker moves however far off it is.

import { element, setText } from "./dom.js";
import { passesText, whereInWindow, withoutUnit } from "./format.js";

const LOW_AT = 0.3;
const HIGH_AT = 0.7;
const TICKS = [1, 2, 4, 8]; // window widths beyond an edge; their crowding shows the pressing
const WHERE_WORDS = {
  low: "below the window",
  inside: "inside the window",
  short: "inside the limits, within the guard band",
  high: "above the window",
  "": "",
};

/** 0 at the edge, towards 1 far away, one half at a distance of one width. */
const pressed = (distance, width) => distance / (width + distance);

/** The width of the window; where only one limit or none is given, a tenth of it stands in. */
function widthOf({ target, low, high }) {
  if (low !== null && high !== null && high > low) return high - low;
  const one = low ?? high ?? target;
  return (target !== null && Math.abs(target - one)) || Math.abs(one) / 10 || 1;
}

/** value -> 0..1 along the scale, or null if the guide has neither target nor limits. Values in the base unit. */
export function positionOn(guide, value) {
  const { target, low, high } = guide;
  if (low === null && high === null && target === null) return null;
  const width = widthOf(guide);
  const edges = edgesOf(guide);
  if (value < edges.from) return edges.fromAt * (1 - pressed(edges.from - value, width));
  if (value > edges.to) return edges.toAt + (1 - edges.toAt) * pressed(value - edges.to, width);
  if (edges.from === edges.to) return edges.fromAt;
  return edges.fromAt + ((edges.toAt - edges.fromAt) * (value - edges.from)) / (edges.to - edges.from);
}

function edgesOf({ target, low, high }) {
  if (low === null && high === null) return { from: target, to: target, fromAt: 0.5, toAt: 0.5 };
  if (high === null) return { from: low, to: low, fromAt: LOW_AT, toAt: LOW_AT };
  if (low === null) return { from: high, to: high, fromAt: HIGH_AT, toAt: HIGH_AT };
  return { from: low, to: high, fromAt: LOW_AT, toAt: HIGH_AT };
}

/** Where the window begins and ends along the scale; it has no end where nothing limits. */
function windowOn({ low, high }) {
  if (low === null && high === null) return { from: 0.5, to: 0.5 };
  return { from: low === null ? 0 : LOW_AT, to: high === null ? 1 : HIGH_AT };
}

function ticksOn(guide) {
  const width = widthOf(guide);
  const { from, to } = edgesOf(guide);
  const values = TICKS.flatMap((times) => [from - times * width, to + times * width]);
  return values.map((value) => positionOn(guide, value));
}

/** Where it is, in words; with what it is where that is computed, for the large digits show something else. */
function whereText(guide) {
  const result = guide.computed ? guide.present_text : "";
  return [result, WHERE_WORDS[whereInWindow(guide)]].filter(Boolean).join(": ");
}

const isNearness = ({ cue, target, low, high }) =>
  cue.sound === "tempo" && target === null && low === null && high === null;

export class Scale {
  #node = element("scale");
  #ticksFor = "";

  render(guide, unitText) {
    const nearness = isNearness(guide);
    const marker = nearness ? guide.cue.amount : positionOn(guide, guide.present ?? 0);
    this.#node.hidden = marker === null;
    setText(element("where-word"), whereText(guide));
    setText(element("passes-word"), passesText(guide));
    if (marker === null) return;
    this.#node.classList.toggle("nearness", nearness);
    this.#node.dataset.where = whereInWindow(guide);
    this.#place(".marker", marker, guide.present !== null || nearness);
    if (nearness) this.#renderNearness();
    else this.#renderWindow(guide, unitText);
  }

  #renderNearness() {
    this.#place(".label.low", 0, true, "far from it");
    this.#place(".label.high", 1, true, "nearest so far");
    for (const part of [".window", ".passes", ".target", ".label.aim"]) this.#place(part, 0, false);
    this.#drawTicks("", []);
  }

  #renderWindow(guide, unitText) {
    const { from, to } = windowOn(guide);
    const window = this.#place(".window", from, to > from);
    window.style.setProperty("--length", to - from);
    this.#drawPassing(guide);
    const target = guide.target === null ? 0 : positionOn(guide, guide.target);
    this.#place(".target", target, guide.target !== null);
    this.#place(".label.aim", target, guide.target !== null, guide.target_text);
    this.#place(".label.low", LOW_AT, guide.low !== null, withoutUnit(guide.low_text ?? "", unitText));
    this.#place(".label.high", HIGH_AT, guide.high !== null, withoutUnit(guide.high_text ?? "", unitText));
    this.#drawTicks(`${guide.low} ${guide.target} ${guide.high}`, ticksOn(guide));
  }

  #drawPassing(guide) {
    const { from, to } = windowOn(guide);
    const [low, high] = [guide.accept_low ?? null, guide.accept_high ?? null];
    const start = low === null ? from : positionOn(guide, low);
    const end = high === null ? to : positionOn(guide, high);
    const passing = this.#place(".passes", start, low !== null || high !== null);
    passing.style.setProperty("--length", end - start);
  }

  #place(selector, at, visible, text) {
    const node = this.#node.querySelector(selector);
    node.hidden = !visible;
    node.style.setProperty("--at", at);
    if (text !== undefined) setText(node, text ?? "");
    return node;
  }

  #drawTicks(forWhat, positions) {
    if (forWhat === this.#ticksFor) return;
    this.#ticksFor = forWhat;
    const ticks = positions.map((at) => {
      const tick = document.createElement("i");
      tick.style.setProperty("--at", at);
      return tick;
    });
    this.#node.querySelector(".ticks").replaceChildren(...ticks);
  }
}
