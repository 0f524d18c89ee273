// Puts the parts together: messages of the daemon in, pictures and sounds out; presses in, requests out.

import { Actions } from "./actions.js";
import { Api } from "./api.js";
import { leaveFocus } from "./ask.js";
import { renderChannels } from "./channels.js";
import { Chart, Trace } from "./chart.js";
import { Digits } from "./digits.js";
import { element, setText } from "./dom.js";
import { Ending } from "./ending.js";
import { Entry } from "./entry.js";
import { Guards } from "./guards.js";
import { Instruments } from "./instruments.js";
import { Issuing } from "./issuing.js";
import { Live } from "./live.js";
import { Alarm, renderDaemon, renderNotStored, renderPedal, renderSound } from "./notices.js";
import { Pedal } from "./pedal.js";
import { PedalSetup, savedBindings } from "./pedal_setup.js";
import { Scale } from "./scale.js";
import { Sound } from "./sound.js";
import { Speech } from "./speech.js";
import { Start } from "./start.js";
import { Steps } from "./steps.js";
import { spoken, Stored } from "./stored.js";
import { Wake } from "./wake.js";
import { renderWords } from "./work.js";

const LOOK_AROUND_MS = 250; // the page's own clock: only to notice silence, never to sound or to decide
const REMIND_MS = 5000;

const api = new Api();
const sound = new Sound();
const speech = new Speech();
const alarm = new Alarm();
const digits = new Digits();
const scale = new Scale();
const trace = new Trace();
const chart = new Chart(element("chart"));
const stored = new Stored();
const guards = new Guards();
const ending = new Ending();
const wake = new Wake(renderWake);
const actions = new Actions(api, {
  accepted: () => (sound.once("accepted"), alarm.clear()),
  refused: () => sound.once("refused"),
});
const entry = new Entry((text) => actions.act("enter", text));
const steps = new Steps(element("steps"), (item) => actions.redo(item));
const issuing = new Issuing(api, { changed: issued });
const start = new Start(api, {
  pressed: () => sound.turnOn(),
  begun: () => (ended = null),
  issue: ({ id, unit, procedure }) => issuing.open(id, `${unit} · ${procedure}`),
});
const instruments = new Instruments(api, { changed: () => show(atRest()) });
const pedal = new Pedal(savedBindings(), pressed);
const live = new Live({
  url: `${location.protocol === "https:" ? "wss" : "ws"}://${location.host}/api/live`,
  onMessage: (message) => MESSAGES[message.type]?.(message),
  onFresh: () => orSayWhy(refresh),
  onGarbled: () => alarm.show("The daemon sent something that cannot be read; it was left out."),
});

let session = null; // id of the session that runs
let sessionName = "";
let ended = null; // {id, verdict, name, plan} until the person goes on to a new session
let dismissed = null; // id of an ended session that the person has left behind
let lastView = null;
let wasFresh = true;
let reminded_ms = 0;

const MESSAGES = {
  live: renderLive,
  readings: ({ readings }) => readings.forEach((reading) => trace.add(reading)),
  reading: (reading) => trace.add(reading),
  stored: announce,
  "guard-tripped": (trip) => (guards.add(trip), speech.say(`${trip.guard}: limit passed`)),
  "session-ended": ({ verdict }) => end(verdict),
  alarm: ({ text }) => (alarm.show(text), sound.once("alarm")),
};

function renderLive(message) {
  renderNotStored(message.stored);
  if (message.session !== session) changeSession(message.session);
  const { view } = message;
  if (view?.state === "ended") end(view.verdict, view);
  const working = view !== null && view.state !== "ended";
  if (working) renderWork(message, view);
  else renderChannels(element("start-channels"), message.channels);
  show(working ? "work" : atRest());
  if (working) entry.render(view); // after `show`: what is not to be seen cannot take the keys
  wake.want(working);
  look();
}

const atRest = () => (ended ? "ended" : instruments.isOpen ? "instruments" : "start");

function renderWork(message, view) {
  const channel = message.channels.find((one) => one.channel === view.guide.channel);
  lastView = view;
  ended = null;
  actions.paused = view.state === "paused";
  trace.follow(view.guide.channel, view.place);
  stored.name(view.plan);
  renderWords(view);
  guards.render(view);
  digits.render(view, channel);
  scale.render(view.guide, channel?.unit_text ?? "");
  chart.render(trace, view.guide, message.time_ns / 1e9, channel);
  steps.render(view.plan, view.place);
  renderChannels(element("channels"), message.channels, view.guide.channel);
  cue(view, channel);
}

// A cue for a meter that has gone silent would guide the hand by an old number.
function cue(view, channel) {
  const fresh = channel === undefined || channel.link === "live";
  if (!fresh && wasFresh) sound.once("no link");
  wasFresh = fresh;
  if (fresh && (view.state === "running" || view.alarm !== null)) sound.follow(view.guide.cue);
}

function announce({ settled }) {
  sound.once("stored");
  speech.say(spoken(settled));
  if (stored.add(settled)) orSayWhy(refresh);
}

function end(verdict, view = lastView) {
  if (session === null || session === dismissed || ended?.id === session) return;
  ended = { id: session, verdict, name: sessionName, plan: view?.plan ?? [], condition: null, issued: null };
  ending.render(ended);
  document.body.dataset.alarm = "";
  orSayWhy(refresh);
}

function changeSession(id) {
  session = id;
  sessionName = "";
  setText(element("session-name"), "");
  stored.of(id);
  guards.of(id);
  orSayWhy(refresh);
}

/** Fetch what the stream does not repeat: who and what the session is, and the values stored so far. */
async function refresh() {
  const status = await api.get("/api/status");
  setText(element("bench-name"), status.bench.name);
  offerBench(status.bench.simulate_url);
  await start.load();
  if (session !== null) learnOf(session, await api.get(`/api/sessions/${encodeURIComponent(session)}`));
}

function learnOf(id, record) {
  if (id !== session) return; // another one has begun while the record was on its way
  stored.merge(id, record.settled);
  guards.merge(id, record.trips);
  sessionName = `${record.unit} · ${record.procedure}`;
  setText(element("session-name"), sessionName);
  if (ended?.id === id) tellEnding({ name: sessionName, condition: record.condition, issued: record.issued });
}

const tellEnding = (told) => ending.render(Object.assign(ended, told));

/** What was handed over of a session, after one more was. */
function issued(id, all) {
  if (ended?.id === id) tellEnding({ issued: all });
  orSayWhy(() => start.load());
}

const orSayWhy = (task) => task().catch((error) => alarm.show(error.message));

function show(mode) {
  if (document.body.dataset.mode === mode) return;
  document.body.dataset.mode = mode;
  if (mode !== "instruments") instruments.close();
  if (mode === "work") issuing.close(); // or it would keep the pedal's keys
  if (mode === "start") orSayWhy(refresh);
  leaveFocus();
}

function pressed(meaning) {
  if (meaning === "mute") return toggleSound();
  sound.wake();
  if (document.body.dataset.mode !== "work") return undefined;
  return actions.act(meaning, meaning === "redo" ? "by foot switch" : "");
}

function toggleSound() {
  if (sound.state === "on") sound.muted = true;
  else sound.turnOn();
  look();
}

/** Everything that changes without a message: age of the last one, focus, the browser's hold on the sound. */
function look() {
  const state = live.stale ? "lost" : lastSeen();
  if (state === "lost") remind();
  renderDaemon(state, live.quiet_ms / 1000);
  renderSound(sound.state);
  renderPedal();
}

const lastSeen = () => (document.body.dataset.mode === "loading" ? "connecting" : "live");

function remind() {
  if (performance.now() - reminded_ms < REMIND_MS) return;
  reminded_ms = performance.now();
  sound.once("no link");
}

function renderWake() {
  const node = element("wake-state");
  setText(node, wake.why && `✗ ${wake.why}`);
  node.hidden = wake.why === "";
}

function offerBench(url) {
  element("bench-toggle").hidden = !url;
  if (url) element("bench-frame").dataset.url = url;
}

function toggleBench() {
  const panel = element("bench-panel");
  const frame = element("bench-frame");
  panel.hidden = !panel.hidden;
  if (!panel.hidden && frame.src !== frame.dataset.url) frame.src = frame.dataset.url;
  document.body.classList.toggle("with-bench", !panel.hidden);
  element("bench-toggle").setAttribute("aria-pressed", String(!panel.hidden));
}

function toggleSpeech() {
  speech.on = !speech.on;
  setText(element("speech"), speech.state);
  element("speech").setAttribute("aria-pressed", String(speech.on));
  speech.say("speech on");
}

element("sound").onclick = toggleSound;
element("speech").onclick = toggleSpeech;
element("bench-toggle").onclick = toggleBench;
element("bench-panel").onmouseleave = () => window.focus(); // keys go back to the page, and so does the pedal
element("end-issue").onclick = () => issuing.open(ended.id, ended.name);
element("new-session").onclick = () => {
  dismissed = ended.id;
  ended = null;
  show("start");
};
// A button pressed by hand gives the focus back, or a pedal that types a space would press it again.
document.addEventListener("click", (event) => {
  if (event.detail > 0 && event.target.closest("button")) leaveFocus();
});
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible") live.hurry();
});
window.addEventListener("online", () => live.hurry());
new PedalSetup(pedal);
pedal.listen(window);
live.connect();
setInterval(() => (live.check(), look()), LOOK_AROUND_MS);
