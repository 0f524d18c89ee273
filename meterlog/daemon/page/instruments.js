// Finding instruments: the ports as they come and go, a look at one of them, the entry for the bench file.

import { element, make, setText, showText } from "./dom.js";
import { findingNodes, stepsNode } from "./finding.js";
import { CAME, follow, GONE, TAKEN } from "./ports.js";

const LOOK_MS = 1200;
const STATES = {
  [GONE]: "✗ unplugged",
  [CAME]: "✓ this one was plugged in",
  [TAKEN]: "✗ came and went again at once",
};

export class Instruments {
  #rows = null;
  #about = null;
  #looking = ""; // the address that this page has asked about
  #asking = false;
  #timer = null;

  constructor(api, { changed }) {
    Object.assign(this, { api, changed });
    element("find-instruments").onclick = () => this.open();
    element("instruments-back").onclick = () => this.close();
    element("address-form").onsubmit = (event) => {
      event.preventDefault();
      this.#look(element("address").value.trim());
    };
  }

  get isOpen() {
    return this.#timer !== null;
  }

  open() {
    this.#rows = null;
    this.#timer ??= setInterval(() => this.#refresh(), LOOK_MS);
    this.#refresh();
    this.changed();
  }

  close() {
    if (!this.isOpen) return;
    clearInterval(this.#timer);
    this.#timer = null;
    this.changed();
  }

  /** One question at a time: answers that overtake each other would make ports come and go. */
  async #refresh() {
    if (this.#asking) return;
    this.#asking = true;
    try {
      this.#about = await this.api.get("/api/instruments");
      this.#rows = follow(this.#rows, this.#about.ports, performance.now() / 1000);
      showText(element("instruments-error"), "");
    } catch (error) {
      showText(element("instruments-error"), error.message);
    } finally {
      this.#asking = false;
    }
    if (this.#rows) this.#render();
  }

  #render() {
    const list = element("ports");
    const fresh = JSON.stringify([this.#rows, this.#about.held, this.#looking]);
    if (list.dataset.shown !== fresh) {
      list.dataset.shown = fresh; // what has not changed keeps its buttons under the finger
      list.replaceChildren(...(this.#rows.length ? this.#rows.map((row) => this.#item(row)) : [NONE()]));
    }
    const seconds = Math.ceil(this.#about.longest_s);
    const doing = this.#about.looking || this.#looking;
    showText(element("looking"), doing && `Listening… ${doing}. A silent port takes up to ${seconds} s.`);
    const taken = this.#rows.some(({ state }) => state === TAKEN);
    element("ports-todo").replaceChildren(...(taken ? [stepsNode(this.#about.taken_do)] : []));
  }

  #item({ port, address, note, state }) {
    const held = this.#about.held.find((one) => names(port).includes(one.address));
    const about = [address === port.device ? "" : port.device, port.description].filter(Boolean).join(" · ");
    const node = make("li", {}, make("b", {}, address), this.#action(address, held, state));
    node.append(...[about, note].filter(Boolean).map((text) => make("small", {}, text)));
    node.dataset.state = state;
    return node;
  }

  #action(address, held, state) {
    if (held) return make("span", { className: "quiet" }, `read by this bench: ${held.instrument}`);
    const word = make("span", { className: "state" }, STATES[state] ?? "");
    if (state === GONE || state === TAKEN) return word;
    const press = { type: "button", onclick: () => this.#look(address), disabled: this.#looking !== "" };
    return make("span", { className: "do" }, word, " ", make("button", press, "Look"));
  }

  async #look(address) {
    if (!address || this.#looking || !this.#about) return;
    this.#looking = address;
    this.#render();
    setText(element("found-title"), address);
    element("found").hidden = false;
    element("found-what").replaceChildren(make("p", { className: "quiet" }, "Listening…"));
    const body = { address, listen_only: element("listen-only").checked };
    const nodes = await this.api
      .post("/api/instruments/look", body)
      .then((finding) => findingNodes(finding, this.#about, this.api))
      .catch((error) => [make("p", { className: "error" }, error.message)]);
    this.#looking = "";
    element("found-what").replaceChildren(...nodes);
    element("found").scrollIntoView({ block: "nearest" });
    this.#refresh();
  }
}

const names = ({ device, by_id, by_path }) => [device, by_id, by_path];
const NONE = () => make("li", { className: "quiet" }, "No serial port was found. Plug the adapter in: it will show here.");
