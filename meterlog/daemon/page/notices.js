// What must not be overlooked, at the top of the page: no link, not stored, alarms; and the small states in the header.

import { element, setText, showText } from "./dom.js";

const DAEMON_WORDS = { live: "● live", connecting: "○ connecting", lost: "✗ no link" };
const SOUND_WORDS = {
  on: ["Mute", "♪ sound on"],
  muted: ["Sound on", "✗ muted"],
  off: ["Sound on", "✗ sound off"],
  blocked: ["Sound on", "✗ sound held back: press Sound on"],
};

export function renderDaemon(state, quiet_s) {
  document.body.dataset.daemon = state;
  setText(element("daemon-state"), DAEMON_WORDS[state]);
  const text = `No link to the daemon for ${Math.floor(quiet_s)} s. What is shown is old. Trying again.`;
  showText(element("no-link"), state === "lost" ? text : "");
}

export function renderNotStored({ pending, error }) {
  showText(element("not-stored"), error ? `Not stored yet (${pending} waiting): ${error}` : "");
}

export function renderSound(state) {
  const [action, words] = SOUND_WORDS[state];
  setText(element("sound"), action);
  setText(element("sound-state"), words);
  element("sound-state").dataset.state = state;
}

/** A press reaches the page only while it is in front and no dialog or frame has taken the keys. */
export function renderPedal() {
  const reaches = document.hasFocus() && document.activeElement?.tagName !== "IFRAME";
  setText(element("pedal-state"), reaches ? "● pedal ready" : "✗ pedal not heard: click the page");
  element("pedal-state").dataset.state = reaches ? "on" : "off";
}

export class Alarm {
  constructor() {
    element("alarm-seen").onclick = () => this.clear();
  }

  show(text) {
    setText(element("alarm-text"), text);
    element("alarm").hidden = false;
  }

  clear() {
    element("alarm").hidden = true;
  }
}
