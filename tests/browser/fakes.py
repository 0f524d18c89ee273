"""Scripts that put a recording stand-in in the place of a browser ability before the page's own code runs."""

# Records every tone as {hz, at, born, stop}, and forgets one that is disconnected. If it does not resume, the
# context stays suspended and resume() never settles. Setting window.frozen makes the first context's clock
# stand still, as after some tab switches.
AUDIO = """
window.tones = []; window.contexts = 0; window.frozen = false;
window.AudioContext = class {
  constructor() {
    this.state = "suspended"; this.destination = {}; this.frozenAt = null;
    window.contexts += 1; this.born = window.contexts;
  }
  get currentTime() {
    if (!window.frozen || this.born > 1) return performance.now() / 1000;
    return this.frozenAt ??= performance.now() / 1000;
  }
  resume() {
    if (!RESUMES) return new Promise(() => {});
    this.state = "running"; return Promise.resolve();
  }
  close() { this.state = "closed"; return Promise.resolve(); }
  createGain() {
    const nothing = () => {};
    return { gain: { setValueAtTime: nothing, linearRampToValueAtTime: nothing }, connect: (next) => next };
  }
  createOscillator() {
    const tone = { type: "sine", frequency: {} };
    tone.frequency.setValueAtTime = (hz) => { tone.hz = hz; };
    tone.frequency.linearRampToValueAtTime = () => {};
    tone.connect = (next) => next;
    let record = null;
    tone.start = (at) => { record = { hz: tone.hz, at, born: this.born }; window.tones.push(record); };
    tone.stop = (at) => { record.stop = at; };
    tone.disconnect = () => { window.tones = window.tones.filter((one) => one !== record); };
    return tone;
  }
};
"""


def audio(*, resumes: bool = True) -> str:
    return AUDIO.replace("RESUMES", "true" if resumes else "false")


# Loses the first speak() after each cancel(), as some browsers do.
SPEECH = """
window.said = []; window.lose = false; window.voices = VOICES;
Object.defineProperty(window, "speechSynthesis", { value: {
  getVoices: () => window.voices,
  cancel: () => { window.lose = true; },
  speak: (utterance) => {
    if (window.lose) { window.lose = false; return; }
    window.said.push([utterance.text, utterance.voice.name]); utterance.onstart?.();
  },
}});
window.SpeechSynthesisUtterance = class { constructor(text) { this.text = text; } };
"""
VOICES = '[{name: "far", localService: false, lang: "en"}, {name: "near", localService: true, lang: "en"}]'


def speech(voices: str = VOICES) -> str:
    return SPEECH.replace("VOICES", voices)


WAKE_LOCK = """
window.locks = [];
Object.defineProperty(navigator, "wakeLock", { value: { request: async () => {
  const lock = { released: false, release: async () => { lock.released = true; } };
  window.locks.push(lock); return lock;
}}});
"""
