// Guards: the alarm in large words beside a shape, which guards watch now, and how often each has tripped.

import { element, make, setText } from "./dom.js";

export class Guards {
  #session = null;
  #trips = new Map(); // "guard at_ns" -> trip, so that one told twice counts once
  #shown = "";

  of(session) {
    if (session === this.#session) return;
    this.#session = session;
    this.#trips.clear();
  }

  add(trip) {
    this.#trips.set(`${trip.guard} ${trip.at_ns}`, trip);
  }

  /** What the record itself says; called after every new connection. */
  merge(session, trips) {
    this.of(session);
    for (const trip of trips) this.add(trip);
  }

  render({ alarm, watching, guide }) {
    document.body.dataset.alarm = alarm === null ? "" : alarm.tripped ? "tripped" : "beyond";
    element("guard").hidden = alarm === null;
    if (alarm !== null) renderAlarm(alarm, guide);
    this.#renderWatching(watching);
  }

  #renderWatching(watching) {
    const lines = watching.map((words) => words + this.#times(words));
    const key = JSON.stringify(lines);
    if (key === this.#shown) return;
    this.#shown = key;
    element("guards").hidden = lines.length === 0;
    element("watching").replaceChildren(...lines.map((line) => make("li", {}, line)));
  }

  #times(words) {
    const count = [...this.#trips.values()].filter(({ guard }) => words.startsWith(`${guard}:`)).length;
    return count === 0 ? "" : ` (✗ tripped ${count}×)`;
  }
}

/** The guide of an alarm is about the guard's channel: its level now, and the limit as the target. */
function renderAlarm({ guard, value, tripped }, { present_text, target_text }) {
  setText(element("guard-word"), tripped ? "TRIPPED" : "BEYOND THE LIMIT");
  setText(element("guard-name"), guard);
  setText(element("guard-level"), `${value === null ? "overload" : present_text}, limit ${target_text}`);
}
