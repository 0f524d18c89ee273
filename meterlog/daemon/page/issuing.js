// Handing the report of an ended session over: under a number, again as it was, or in the place of an earlier one.

import { leaveFocus } from "./ask.js";
import { element, make, setText } from "./dom.js";

const KINDS = { report: "report", sheet: "test sheet" };
const FORMS = { pdf: "PDF", html: "HTML" };
const MADE_AS = {
  "pdf-a4": { format: "pdf", paper: "a4" },
  "pdf-letter": { format: "pdf", paper: "letter" },
  html: { format: "html" },
};

/** "report 1-2, test sheet 1-3": those that no other replaces; "" for none. */
export function issuedText(issued) {
  return standing(issued).map(({ kind, number }) => `${KINDS[kind]} ${number}`).join(", ");
}

function standing(issued) {
  const replaced = new Set(issued.map(({ replaces }) => replaces));
  return issued.filter(({ number }) => !replaced.has(number));
}

const pathOf = (id) => `/api/sessions/${encodeURIComponent(id)}`;

export class Issuing {
  #id = null;
  #loads = 0;
  #issued = [];
  #kind = "report";

  /** changed(id, issued) is called after one more was issued. */
  constructor(api, { changed }) {
    Object.assign(this, { api, changed });
    this.dialog = element("issue");
    element("issue-close").onclick = () => this.close();
    element("issue-replaces").oninput = () => this.#wantReason();
    this.dialog.onclose = leaveFocus;
    element("issue-form").onsubmit = (event) => {
      event.preventDefault();
      this.#issue();
    };
  }

  /** Of which session, and what that was. */
  async open(id, what) {
    this.#id = id;
    this.#busy(false);
    this.#nothing("Looking up what was issued…");
    setText(element("issue-title"), `Session ${id}: ${what}`);
    this.dialog.showModal();
    await this.#load(id).catch((error) => this.#cannotTell(id, error));
  }

  close() {
    this.dialog.close();
  }

  /** An answer that a newer question has overtaken is not shown: it would take the form from who fills it in. */
  async #load(id) {
    const load = ++this.#loads;
    const { issued, commission } = await this.api.get(pathOf(id));
    if (id === this.#id && load === this.#loads) this.#show(issued, commission.customer);
    return issued;
  }

  #cannotTell(id, error) {
    if (id !== this.#id) return;
    this.#nothing("");
    this.#say(error.message);
  }

  /** Nothing can be asked for before it is known what was issued. */
  #nothing(text) {
    this.#issued = [];
    element("issue-form").hidden = true;
    element("issued").replaceChildren(make("li", { className: "quiet" }, text));
    element("issue-first").replaceChildren();
  }

  #show(issued, customer) {
    this.#nothing("Nothing was issued of it yet.");
    this.#issued = issued;
    element("issue-customer").placeholder = customer;
    if (issued.length) element("issued").replaceChildren(...issued.map((one) => this.#row(one)));
    const taken = new Set(standing(issued).map(({ kind }) => kind));
    const open = Object.keys(KINDS).filter((kind) => !taken.has(kind));
    element("issue-first").replaceChildren(...open.map((kind) => this.#button(`Issue the ${KINDS[kind]}`, kind, "")));
  }

  #row({ number, kind, time_ns, customer, replaces, because, forms }) {
    const successor = this.#issued.find((one) => one.replaces === number);
    const told = [
      new Date(time_ns / 1e6).toLocaleString(),
      customer && `to ${customer}`,
      replaces && `replaces ${replaces}, because: ${because}`,
      successor && `replaced by ${successor.number}`,
      forms.length === 0 && "its file was not kept: who got it has it",
    ];
    return make(
      "li",
      {},
      make("b", {}, `${KINDS[kind]} ${number}`),
      ...forms.toReversed().flatMap((form) => [" ", this.#link(number, form)]),
      " ",
      ...(successor ? [] : [this.#button("Replace", kind, number)]),
      make("small", {}, told.filter(Boolean).join(" · ")),
    );
  }

  #link(number, form) {
    const href = `${pathOf(this.#id)}/issued/${encodeURIComponent(number)}?format=${form}`;
    return make("a", { href, target: "_blank", rel: "noopener" }, FORMS[form]);
  }

  #button(text, kind, replaces) {
    return make("button", { type: "button", onclick: () => this.#ask(text, kind, replaces) }, text);
  }

  #ask(text, kind, replaces) {
    this.#kind = kind;
    this.#say("");
    setText(element("issue-what"), replaces ? `Replace ${KINDS[kind]} ${replaces}` : text);
    element("issue-form").reset();
    element("issue-replaces").value = replaces;
    element("issue-replaces-label").hidden = replaces !== "";
    element("issue-customer").value = this.#otherCustomer(replaces);
    this.#wantReason();
    element("issue-form").hidden = false;
    element(replaces ? "issue-because" : "issue-customer").focus();
  }

  /** What stands on the one that is replaced, if that is not what is kept with the session. */
  #otherCustomer(number) {
    const customer = this.#issued.find((one) => one.number === number)?.customer ?? "";
    return customer === element("issue-customer").placeholder ? "" : customer;
  }

  #wantReason() {
    const replaces = element("issue-replaces").value.trim() !== "";
    element("issue-because-label").hidden = !replaces;
    element("issue-because").required = replaces;
  }

  /** Of the session that was asked about, whichever the dialog shows by the time the answer is here. */
  async #issue() {
    const id = this.#id;
    this.#busy(true);
    const error = await this.#handOver(id).then(() => "", ({ message }) => message);
    if (id !== this.#id) return;
    this.#busy(false);
    this.#say(error);
  }

  async #handOver(id) {
    await this.api.post(`${pathOf(id)}/issue`, this.#asked());
    this.changed(id, await this.#load(id));
  }

  #asked() {
    const text = (id) => element(id).value.trim();
    const replaces = text("issue-replaces");
    return {
      sheet: this.#kind === "sheet",
      ...MADE_AS[element("issue-as").value],
      customer: text("issue-customer"),
      replaces,
      because: replaces && text("issue-because"),
    };
  }

  #busy(busy) {
    element("issue-button").disabled = busy;
    setText(element("issue-state"), busy ? "It is being made." : "");
    this.#say("");
  }

  #say(error) {
    setText(element("issue-error"), error);
    if (error) element("issue-error").scrollIntoView({ block: "nearest" });
  }
}
