"""The product between bench and person: the real engine, and the page's sounds (tones.js, sound.js) as heard.

The page schedules pulses a little ahead, with the cue as it was then; what is heard may be that old. Numbers
here are those of the page; a test holds them together. Messages to the page come with every reading and
every quarter of a second; sending and audio output are taken as 0.03 s (assumed). The step states the meter's
averaging to 0.1 s, as whoever knows the meter may (`lag`).
"""

import math
from collections import deque
from typing import NamedTuple

from meterlog.procedure import (
    Acted,
    ActionKind,
    Cue,
    Engine,
    Measured,
    Outcome,
    Pass,
    Sound,
    StepEnded,
    Ticked,
    load_procedure_text,
)
from meterlog.reading import Reading
from tests.trials.feel.bench import NS, Job

PROCEDURE = """
[procedure]
title = "One trimmer"
revision = "1"
unit = "Unit"
[[channel]]
name = "output"
unit = "V"
coupling = "ac"
show = "dBu"
[[step]]
id = "job"
title = "The job"
channel = "output"
"""
STEPS = {  # dwell and hold as in config/procedures/tape-machine.toml
    Job.ADJUST: """
pattern = "adjust"
target = "0.775 V"
tolerance = "0.1 dB"
dwell = "0.7 s"
hold = "0.5 s"
""",
    Job.BACK_OFF: """
pattern = "back-off"
extremum = "maximum"
side = "clockwise only"
bracket = "0.3 dB"
fall = "1 dB"
tolerance = "0.1 dB"
dwell = "0.8 s"
hold = "0.5 s"
""",
}
TEMPO_DB = 4.0 * 0.3
"""What the whole range of the tempo (four brackets, dB) stands for."""

TICK_S = 0.25
PATH_S = 0.03
AHEAD_S = 0.35
CHANGE_S = 0.2
SLOWEST_S, FASTEST_S = 0.9, 0.11
PITCH_SEMITONES = 12 * 1.5
PERIOD_S = {Sound.PITCH: 0.2, Sound.INSIDE: 0.5, Sound.SLOW_DOWN: 0.2, Sound.PRESS: 1.2}
TELLING_S = {Sound.PITCH: 0.1, Sound.SLOW_DOWN: 0.1}
"""When within a pulse the note that tells something begins."""


class Pulse(NamedTuple):
    """`at_s`: when what it tells can be heard."""

    start_s: float
    at_s: float
    sound: Sound
    amount: float


class Speaker:
    """`Sound.follow` of the page."""

    def __init__(self) -> None:
        self.pulses: deque[Pulse] = deque()
        self._begun: Pulse | None = None

    def follow(self, now_s: float, cue: Cue) -> None:
        """What has not begun to sound gives way; another sound need not wait for the whole period."""
        while self.pulses and self.pulses[-1].start_s > now_s:
            self.pulses.pop()
        self._begun = self.pulses[-1] if self.pulses else self._begun
        period_s = period_of(cue)
        if period_s is None:
            return
        at_s = max(now_s, self._next_s(cue, period_s))
        while at_s < now_s + AHEAD_S:
            heard_s = at_s + TELLING_S.get(cue.sound, 0.0) + PATH_S
            self.pulses.append(Pulse(at_s, heard_s, cue.sound, cue.amount))
            at_s += period_s

    def _next_s(self, cue: Cue, period_s: float) -> float:
        begun = self._begun
        if begun is None:
            return 0.0
        return begun.start_s + (period_s if begun.sound is cue.sound else min(period_s, CHANGE_S))

    def heard(self, now_s: float) -> Pulse | None:
        """The next pulse that has sounded."""
        if not self.pulses or self.pulses[0].at_s > now_s:
            return None
        self._begun = self.pulses[0]
        return self.pulses.popleft()


def period_of(cue: Cue) -> float | None:
    if cue.sound is Sound.TEMPO:
        return SLOWEST_S * math.pow(FASTEST_S / SLOWEST_S, min(1.0, max(0.0, cue.amount)))
    return PERIOD_S.get(cue.sound)


class Guidance:
    """Takes readings and time; `ended` once the adjust pass of the job is done."""

    def __init__(self, job: Job, lag_s: float) -> None:
        """`lag_s`: the meter's averaging as the bench states it, to 0.1 s."""
        text = f'{PROCEDURE}lag = "{lag_s:.1f} s"{STEPS[job]}'
        self.engine = Engine(load_procedure_text(text, "feel.toml"))
        self.speaker = Speaker()
        self.ended: StepEnded | None = None
        self._next_tick_s = 0.0
        self.engine.apply(Acted(0, ActionKind.START))

    @property
    def adjusting(self) -> bool:
        """The unit has been looked at as found; now it may be touched."""
        return self.engine.view().pass_ is Pass.ADJUST

    def pass_on(self, now_s: float, reading: Reading | None) -> None:
        at_ns = round(now_s * NS)
        tick = now_s >= self._next_tick_s
        if reading is not None:
            self._keep(self.engine.apply(Measured(at_ns, reading)))
        if tick:
            self._next_tick_s = now_s + TICK_S
            self._keep(self.engine.apply(Ticked(at_ns)))
        if (tick or reading is not None) and self.ended is None:
            self._say(now_s)

    def skip(self, now_s: float) -> None:
        self._keep(self.engine.apply(Acted(round(now_s * NS), ActionKind.SKIP, "does not settle")))

    def _say(self, now_s: float) -> None:
        self.speaker.follow(now_s, self.engine.view().guide.cue)

    def _keep(self, outcomes: list[Outcome]) -> None:
        for outcome in outcomes:
            if isinstance(outcome, StepEnded) and outcome.pass_ is Pass.ADJUST:
                self.ended = outcome
