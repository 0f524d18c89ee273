// The plan as a table: one row for each step, one column for each pass, a shape and a word in every cell.

import { make } from "./dom.js";
import { STATE_SHAPES, VERDICT_SHAPES, withShape } from "./format.js";

const ENDED = ["done", "skipped"];
const PASSES = ["as found", "adjust", "as left"];

/** The word and shape of a cell: the verdict once there is one, else the state. */
export function cellText({ state, verdict }) {
  if (state === "done" && verdict !== "not judged") return withShape(VERDICT_SHAPES, verdict);
  return withShape(STATE_SHAPES, state);
}

/** What has not begun is said by its shape alone, so that three passes fit beside the digits. */
const isQuiet = (item, here) => item.state === "waiting" && item.place !== here;

const distinct = (plan, key) => [...new Set(plan.map((item) => item[key]))];

export class Steps {
  #shown = "";

  /** redo(item) is called for a press on a step that has ended; without it the table only shows. */
  constructor(table, redo = null) {
    this.table = table;
    this.redo = redo;
  }

  render(plan, here) {
    const key = JSON.stringify([plan, here]);
    if (key === this.#shown) return;
    this.#shown = key;
    const passes = PASSES.filter((pass) => plan.some((item) => item.pass_ === pass));
    const head = make("tr", {}, make("th", {}, ""), ...passes.map((pass) => make("th", { scope: "col" }, pass)));
    const rows = distinct(plan, "step").map((step) => {
      return this.#row(plan.filter((item) => item.step === step), passes, here);
    });
    this.table.replaceChildren(make("thead", {}, head), make("tbody", {}, ...rows));
    this.table.querySelector(".here")?.scrollIntoView({ block: "nearest" });
  }

  #row(items, passes, here) {
    const title = make("th", { scope: "row" }, items[0].title);
    const cells = passes.map((pass) => this.#cell(items.find((item) => item.pass_ === pass), here));
    const row = make("tr", {}, title, ...cells);
    row.classList.toggle("here", items.some((item) => item.place === here));
    return row;
  }

  #cell(item, here) {
    if (item === undefined) return make("td");
    const text = isQuiet(item, here) ? STATE_SHAPES.waiting : cellText(item);
    const cell = make("td", { title: item.state }, this.redo && ENDED.includes(item.state) ? this.#button(item) : text);
    if (item.place === here) cell.setAttribute("aria-current", "step");
    cell.dataset.verdict = item.state === "done" ? item.verdict : "";
    if (item.attempt > 1) cell.append(make("small", {}, ` ×${item.attempt}`));
    return cell;
  }

  #button(item) {
    const button = make("button", { type: "button", title: `Redo ${item.title}, ${item.pass_}` }, cellText(item));
    button.onclick = () => this.redo(item);
    return button;
  }
}
