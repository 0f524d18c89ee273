// What was found at one address: who is there and the entry for the bench file, or what is wrong and what to do.

import { make, setText } from "./dom.js";

const COUPLED = ["voltage", "current"];

/** The nodes of one finding; `api` makes the entry, `about` is what the daemon said of its bench. */
export function findingNodes(finding, about, api) {
  if (finding.matches.length) {
    return [...knownNodes(finding), new EntryForm(finding, about, api).node, rawNode(finding.heard.at(-1))];
  }
  const raw = finding.heard.filter(({ lines }) => lines.length).map(rawNode);
  return [make("p", { className: "error" }, `✗ ${finding.says}`), stepsNode(finding.do), ...raw];
}

export function stepsNode(steps) {
  return make("ol", { className: "todo" }, ...steps.map((step) => make("li", {}, step)));
}

function rawNode({ line, lines }) {
  const title = line ? `Heard at ${line}` : "Heard";
  return make("figure", { className: "raw" }, make("figcaption", {}, title), make("pre", {}, lines.join("\n")));
}

function knownNodes({ matches, shows }) {
  const [first, ...others] = matches;
  return [
    make("p", { className: "known" }, `✓ ${matchText(first)}`),
    make("p", {}, `${first.summary} · ${first.maturity}`),
    make("p", {}, "Says of itself: ", make("b", {}, first.identity.text)),
    ...shows.map((text) => make("p", {}, "Shows: ", make("b", {}, text))),
    ...others.map((other) => make("p", { className: "quiet" }, `Could also be ${matchText(other)}: ${other.summary}`)),
  ];
}

/** Nothing may come under the fingers of who stands in a field. */
function aboutToType(field) {
  return field === document.activeElement && field.tagName === "INPUT";
}

function matchText({ driver, dialect, line }) {
  return [driver, dialect && `dialect ${dialect}`, line].filter(Boolean).join(", ");
}

/** The entry as it will stand in the bench file: changed by the fields, written by the button. */
class EntryForm {
  #text = make("pre", { className: "entry-text" });
  #reply = make("p", { role: "status" });
  #fields = {};
  #chosen = new Set(); // names of the fields that the person has set
  #sent = 0;

  constructor(finding, about, api) {
    Object.assign(this, { finding, about, api });
    const choices = finding.matches.map((match, index) => [String(index), matchText(match)]);
    this.node = make(
      "form",
      { className: "bench-entry", autocomplete: "off" },
      make("h2", {}, "For the bench file"),
      ...(choices.length > 1 ? [this.#select("match", "Driver", choices)] : []),
      this.#input("name", "Meter is called"),
      this.#input("channel", "Channel is called"),
      this.#select("function", "Measures", about.functions.map((name) => [name, name])),
      this.#select("coupling", "Coupling", ["dc", "ac", "acdc"].map((name) => [name, name])),
      this.#text,
      this.#button(),
      this.#reply,
    );
    this.node.onsubmit = (event) => (event.preventDefault(), this.#make(true));
    this.node.oninput = ({ target }) => this.#chosen.add(target.name); // from the first letter on it is theirs
    this.node.onchange = () => this.#make(false);
    this.#make(false, true);
  }

  #button() {
    const file = this.about.bench_file;
    return file
      ? make("button", { className: "primary", type: "submit" }, `Add to ${file}`)
      : make("p", { className: "quiet" }, "The daemon was not told its bench file: copy the text into it.");
  }

  #input(name, label) {
    this.#fields[name] = make("input", { name, maxLength: 80, spellcheck: false });
    return make("label", {}, `${label} `, this.#fields[name]);
  }

  #select(name, label, choices) {
    const options = choices.map(([value, text]) => make("option", { value }, text));
    this.#fields[name] = make("select", { name }, ...options);
    return make("label", {}, `${label} `, this.#fields[name]);
  }

  async #make(write, first = false) {
    const number = (this.#sent += 1);
    try {
      const { entry, text, written } = await this.api.post("/api/instruments/entry", this.#wish(write, first));
      if (first) this.#fill(entry);
      if (number !== this.#sent) return; // a newer wish is on its way
      setText(this.#text, text);
      this.#fields.coupling.disabled = !COUPLED.includes(this.#fields.function.value);
      this.#say(written ? `✓ Added to ${this.about.bench_file}. Start the daemon anew: it reads the file then.` : "", true);
    } catch (error) {
      this.#say(error.message, false);
    }
  }

  /** At first the daemon chooses, by what the meter shows. */
  #wish(write, first) {
    const value = (name) => this.#fields[name]?.value ?? "";
    const wish = { address: this.finding.address, match: Number(value("match")), write };
    if (first) return wish;
    const coupling = COUPLED.includes(value("function")) ? value("coupling") : "";
    return { ...wish, name: value("name").trim(), channel: value("channel").trim(), function: value("function"), coupling };
  }

  /** What the daemon chose, where the person has not chosen meanwhile. */
  #fill({ name, channels: [channel] }) {
    const chosen = { name, channel: channel.name, function: channel.function, coupling: channel.coupling };
    for (const [field, value] of Object.entries(chosen)) {
      const offer = () => value && !this.#chosen.has(field) && (this.#fields[field].value = value);
      if (aboutToType(this.#fields[field])) this.#fields[field].addEventListener("blur", offer, { once: true });
      else offer();
    }
  }

  #say(text, good) {
    setText(this.#reply, text);
    this.#reply.className = good ? "good" : "error";
  }
}
