// The last minute of the step's channel as a line, with the window as a band.

import { decimals } from "./format.js";

const SPAN_S = 60;
const GAP_S = 5;
const NO_WINDOW = { low: null, high: null, target: null };
const SVG = "http://www.w3.org/2000/svg";
const [WIDTH, HEIGHT, MARGIN] = [600, 200, 12];

/** Readings of one channel in one step, none older than a minute before the newest. */
export class Trace {
  #channel = "";
  #place = null;
  points = [];

  /** A new step begins a new line: the jump of its setup would press everything else flat. */
  follow(channel, place = null) {
    if (channel === this.#channel && place === this.#place) return;
    this.#channel = channel;
    this.#place = place;
    this.points = [];
  }

  add(reading) {
    if (reading.channel !== this.#channel) return;
    this.points.push({ time_s: reading.time_ns / 1e9, value: reading.value, shown: reading.shown });
    const oldest_s = reading.time_ns / 1e9 - SPAN_S;
    while (this.points[0].time_s < oldest_s) this.points.shift();
  }
}

/** {bottom, top}: the values drawn at the lower and upper edge; all points and the whole window are inside. */
export function extentOf(points, { low, high, target }) {
  const values = [...points.map((point) => point.value), low, high, target].filter((value) => value !== null);
  if (values.length === 0) return null;
  const [bottom, top] = [Math.min(...values), Math.max(...values)];
  const spare = (top - bottom) / 12 || Math.abs(top) / 100 || 1;
  return { bottom: bottom - spare, top: top + spare };
}

/** The path's text. An overload or a silence breaks the line: nothing is drawn where nothing was read. */
export function pathOf(points, xOf, yOf) {
  let before_s = -Infinity;
  const parts = [];
  for (const { time_s, value } of points) {
    if (value === null) {
      before_s = -Infinity;
      continue;
    }
    const command = time_s - before_s > GAP_S ? "M" : "L";
    parts.push(`${command}${xOf(time_s).toFixed(1)} ${yOf(value).toFixed(1)}`);
    before_s = time_s;
  }
  return parts.join("");
}

function shape(parent, tag, className) {
  const node = document.createElementNS(SVG, tag);
  node.setAttribute("class", className);
  parent.append(node);
  return node;
}

const set = (node, attributes) => Object.entries(attributes).forEach(([key, value]) => node.setAttribute(key, value));

export class Chart {
  constructor(box) {
    const svg = shape(box, "svg", "");
    set(svg, { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, preserveAspectRatio: "none", "aria-hidden": "true" });
    this.band = shape(svg, "rect", "band");
    this.aim = shape(svg, "line", "aim");
    this.line = shape(svg, "path", "line");
    this.labels = ["top", "bottom", "left", "right"].map((side) => {
      const label = document.createElement("span");
      label.className = side;
      box.append(label);
      return label;
    });
  }

  /** `now_s` is the daemon's time, so that the line moves on when a meter is silent. */
  render(trace, guide, now_s, channel) {
    const window = guide.computed ? NO_WINDOW : guide; // that of a result has no place among the channel's levels
    const extent = extentOf(trace.points, window);
    const { bottom, top } = extent ?? { bottom: 0, top: 1 };
    const xOf = (time_s) => WIDTH * (1 - (now_s - time_s) / SPAN_S);
    const yOf = (value) => MARGIN + ((HEIGHT - 2 * MARGIN) * (top - value)) / (top - bottom);
    set(this.line, { d: pathOf(trace.points, xOf, yOf) });
    this.#drawWindow(window, yOf);
    this.#label(trace.points, channel);
  }

  #drawWindow({ low, high, target }, yOf) {
    const [upper, lower] = [high === null ? 0 : yOf(high), low === null ? HEIGHT : yOf(low)];
    const limited = low !== null || high !== null;
    set(this.band, { x: 0, width: WIDTH, y: upper, height: limited ? Math.max(1, lower - upper) : 0 });
    set(this.aim, { x1: 0, x2: target === null ? 0 : WIDTH, y1: yOf(target ?? 0), y2: yOf(target ?? 0) });
  }

  #label(points, channel) {
    const shown = points.map((point) => point.shown).filter((value) => value !== null);
    const places = decimals(channel?.text ?? "");
    const text = (value) => `${value.toFixed(places)} ${channel?.unit_text ?? ""}`.trim();
    const texts = shown.length
      ? [`highest ${text(Math.max(...shown))}`, `lowest ${text(Math.min(...shown))}`, "60 s ago", "now"]
      : ["", "no readings yet", "", ""];
    this.labels.forEach((label, index) => (label.textContent = texts[index]));
  }
}
