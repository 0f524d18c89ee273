// The bench's own page: builds itself from GET /scene, follows GET /state, turns and sets by POST.

const LOOK_MS = 200;
const place = (id) => document.getElementById(id);

function make(kind, properties = {}, ...children) {
  const element = Object.assign(document.createElement(kind), properties);
  element.append(...children);
  return element;
}

async function ask(path, body) {
  const request = body && {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(body),
  };
  const response = await fetch(path, request);
  const answer = await response.json();
  if (!response.ok) throw new Error(answer.error);
  return answer;
}

function say(trouble) {
  place("trouble").hidden = !trouble;
  place("trouble").textContent = trouble;
}

async function tell(path, body) {
  try {
    await ask(path, body);
    say("");
  } catch (error) {
    say(error.message);
  }
}

// A slider moves faster than the bench answers: while one message is under way only the newest waits.
function newestOnly(send) {
  let busy = false;
  let waiting = null;
  return async (value) => {
    waiting = { value };
    if (busy) return;
    busy = true;
    while (waiting) {
      const next = waiting.value;
      waiting = null;
      await send(next);
    }
    busy = false;
  };
}

function slider(properties, send) {
  const input = make("input", { type: "range", ...properties });
  const sendNewest = newestOnly(send);
  input.addEventListener("input", () => sendNewest(input.valueAsNumber));
  return input;
}

// What the state says is shown, but never under the hand that is moving it.
function follow(input, value) {
  if (document.activeElement !== input) input.value = value;
}

function trimmerRow(name, plan) {
  const id = `trimmer ${name}`;
  const turns = make("output");
  const send = (to) => tell("/turn", { trimmer: name, to });
  const input = slider({ id, min: 0, max: 1, step: 0.0005 }, send);
  const row = make("div", { className: "row" },
    make("label", { htmlFor: id, textContent: name }), turns, input, make("small", { textContent: plan.hint }));
  const show = (state) => {
    const shaft = state.trimmers[name];
    follow(input, shaft);
    turns.textContent = `${(shaft * plan.turns).toFixed(2)} of ${plan.turns} turns`;
  };
  return [row, show];
}

function pressed(texts, current, press) {
  return texts.map(([text, value]) => {
    const button = make("button", { type: "button", textContent: text });
    button.addEventListener("click", () => press(value));
    return [button, (state) => button.setAttribute("aria-pressed", String(current(state) === value))];
  });
}

function buttonRow(name, texts, current, press) {
  const buttons = pressed(texts, current, press);
  const group = make("div", { className: "choices", role: "group", ariaLabel: name }, ...buttons.map(([button]) => button));
  const row = make("div", { className: "row" }, make("span", { className: "name", textContent: name }), group);
  return [row, (state) => buttons.forEach(([, show]) => show(state))];
}

function dialRow(name, dial) {
  const id = `dial ${name}`;
  const send = (value) => tell("/set", { [name]: value });
  const scale = { min: dial.low, max: dial.high, step: dial.unit === "Hz" ? 1 : 0.02 };
  const input = slider({ ...scale, ariaLabel: `${name} slider` }, send);
  const number = make("input", { id, type: "number", ...scale, step: "any" });
  number.addEventListener("change", () => number.value && send(number.valueAsNumber));
  const label = make("label", { htmlFor: id, textContent: `${name.replace(/_[a-z]+$/, "")}, ${dial.unit}` });
  const row = make("div", { className: "row" }, label, number, input);
  const show = (state) => {
    follow(input, state.controls[name]);
    follow(number, Number(state.controls[name].toFixed(2)));
  };
  return [row, show];
}

function controlRow(name, control) {
  if (control.kind === "dial") return dialRow(name, control);
  const choices = control.kind === "switch" ? [["off", false], ["on", true]] : control.choices.map((text) => [text, text]);
  return buttonRow(name, choices, (state) => state.controls[name], (value) => tell("/set", { [name]: value }));
}

function leadRow(name) {
  const texts = [["plugged in", true], ["pulled out", false]];
  const pull = (plugged) => tell("/fault", { meter: name, plugged });
  return buttonRow(name, texts, (state) => state.meters[name].plugged, pull);
}

function showLamp(state) {
  const text = state.lamp ? "Lamp lit" : "Lamp dark";
  const lamp = place("lamp");
  lamp.dataset.lit = state.lamp;
  if (lamp.textContent !== text) lamp.textContent = text; // a screen reader speaks at every change
}

function put(id, rows) {
  place(id).append(...rows.map(([row]) => row));
  return rows.map(([, show]) => show);
}

async function keepLooking(shows) {
  let lost = false;
  for (;;) {
    try {
      const state = await ask("/state");
      shows.forEach((show) => show(state));
      if (lost) say("");
      lost = false;
    } catch {
      lost = true;
      say("The simulated bench does not answer. Is it still running?");
    }
    await new Promise((resume) => setTimeout(resume, LOOK_MS));
  }
}

async function begin() {
  const [scene, state] = await Promise.all([ask("/scene"), ask("/state")]);
  place("unit").textContent = scene.unit;
  const rows = (things, row) => Object.entries(things).map(([name, thing]) => row(name, thing));
  await keepLooking([
    showLamp,
    ...put("trimmers", rows(scene.trimmers, trimmerRow)),
    ...put("controls", rows(scene.controls, controlRow)),
    ...put("leads", rows(state.meters, leadRow)),
  ]);
}

begin().catch((error) => say(`The simulated bench does not answer: ${error.message}`));
