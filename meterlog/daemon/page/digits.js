// The large digits: what the step's channel shows now, with its unit, age and the way to go.

import { element, setText } from "./dom.js";
import { ageText, ARROWS, flagsText, unsigned, withoutUnit } from "./format.js";

const NO_NUMBER = "– – –";
const FEWEST_PLACES = 5;

/** {text, unit, fresh, note}: what to show for a channel of the live message, or for none (undefined). */
export function shownLevel(channel) {
  if (channel === undefined) return { text: "", unit: "", fresh: true, note: "" };
  const fresh = channel.link === "live";
  const said = [flagsText(channel.flags), channel.correction_text].filter(Boolean).join(" · ");
  const note = fresh ? said : `${channel.link} ${ageText(channel.age_s)}`.trim();
  if (channel.state === "ok" && channel.value !== null) {
    return { text: withoutUnit(channel.text, channel.unit_text), unit: channel.unit_text, fresh, note };
  }
  return { text: channel.state && channel.state !== "ok" ? channel.state : NO_NUMBER, unit: "", fresh, note };
}

/** "▲ 0.35 dB up"; "● hold" where there is nowhere to go. */
export function wayToGo({ direction, distance_text }) {
  const distance = direction === "hold" ? "" : unsigned(distance_text ?? "");
  return [ARROWS[direction], distance, direction].filter(Boolean).join(" ");
}

export class Digits {
  #place = null;
  #places = FEWEST_PLACES;

  render(view, channel) {
    const level = shownLevel(channel);
    this.#holdSize(view.place, level.text.length + level.unit.length / 2);
    setText(element("number"), level.text);
    setText(element("unit"), level.unit);
    const digits = element("digits");
    digits.hidden = channel === undefined;
    element("work").classList.toggle("words-only", channel === undefined);
    element("level").classList.toggle("old", !level.fresh);
    setText(element("channel-name"), channel?.channel ?? "");
    setText(element("channel-state"), level.note);
    const distance = element("distance");
    setText(distance, wayToGo(view.guide));
    distance.dataset.direction = view.guide.direction;
  }

  // Within a step the digits never grow back: a size that jumps with a sign cannot be read at a glance.
  #holdSize(place, places) {
    if (place !== this.#place) this.#places = FEWEST_PLACES;
    this.#place = place;
    this.#places = Math.max(this.#places, places);
    element("digits").style.setProperty("--places", this.#places);
  }
}
