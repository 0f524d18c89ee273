"""One unit set by one person with the real engine: how many rounds, how long.

The person listens as in the trial "how it feels". Going to the other condition takes 3 to 8 s with the hands
(assumed) before the pedal; what a degree does is learnt anew at every condition.
"""

import random
from contextlib import suppress
from typing import NamedTuple

from meterlog.accuracy import Verdict
from meterlog.procedure import (
    Acted,
    ActionKind,
    Engine,
    IllegalAction,
    Outcome,
    Pass,
    StepEnded,
    load_procedure_text,
)
from tests.trials.feel.bench import NS, TARGET_VOLTS, TOLERANCE_DB
from tests.trials.feel.guidance import PROCEDURE, Guidance, Speaker
from tests.trials.feel.hand import Doing, Hand, Traits
from tests.trials.feel.with_cues import Ear, Listener
from tests.trials.rounds.pair import PairBench, unit_of

MOST_ROUNDS = 40
LIMIT_S = 900.0
STILL_S = 3.0

STEP = """
pattern = "alternate"
rounds = {rounds}
aim_off = {aim_off}
"""
CONDITION = """
[[step.condition]]
name = "{name}"
setup = "Switch to {name}."
channel = "output"
target = "0.775 V"
tolerance = "0.1 dB"
dwell = "0.7 s"
hold = "0.5 s"
lag = "{lag_s:.1f} s"
"""


class Run(NamedTuple):
    """`time_s` from the first setup of the adjust pass; `inside`: what was true of both at the end."""

    aim_off: bool
    r: float
    rounds: int
    time_s: float
    verdict: Verdict | None
    inside: bool
    reason: str

    @property
    def converged(self) -> bool:
        return self.verdict is Verdict.PASS


class PairGuidance(Guidance):
    """The same product, with a step of two conditions."""

    def __init__(self, lag_s: float, *, aim_off: bool) -> None:
        step = STEP.format(rounds=MOST_ROUNDS, aim_off=str(aim_off).lower())
        conditions = "".join(CONDITION.format(name=name, lag_s=lag_s) for name in ("low", "high"))
        head = PROCEDURE.replace('channel = "output"\n', "")
        self.engine = Engine(load_procedure_text(head + step + conditions, "rounds.toml"))
        self.speaker = Speaker()
        self.ended: StepEnded | None = None
        self.began_s = self._next_tick_s = 0.0
        self.engine.apply(Acted(0, ActionKind.START))
        self.guide = self.engine.view().guide

    def press(self, now_s: float) -> None:
        self._keep(self.engine.apply(Acted(round(now_s * NS), ActionKind.GO_ON)))
        self.guide = self.engine.view().guide

    def _say(self, now_s: float) -> None:
        """The view is built only when something came in, and not while it waits for the pedal."""
        if self.guide.awaiting_go_on:
            return
        self.guide = self.engine.view().guide
        self.speaker.follow(now_s, self.guide.cue)

    def _keep(self, outcomes: list[Outcome]) -> None:
        """The adjust pass begins where the as-found pass ends."""
        super()._keep(outcomes)
        ends = [one for one in outcomes if isinstance(one, StepEnded) and one.pass_ is Pass.AS_FOUND]
        self.began_s = ends[0].at_ns / NS if ends else self.began_s


class Person:
    """Follows the view: to the condition it names, the pedal, and the trimmer when it says so."""

    def __init__(self, bench: PairBench, guidance: PairGuidance, seed: int) -> None:
        self._bench, self._guidance = bench, guidance
        dice = random.Random(f"person rounds {seed}")
        self._traits = Traits.drawn(dice)
        self._switch_s = dice.uniform(3.0, 8.0)
        self._hand = Hand(bench, self._traits, random.Random(f"hand rounds {seed}"))
        self._ear = Ear(guidance.speaker, self._traits.tempo_threshold, random.Random(f"ear rounds {seed}"))

    def work(self) -> Doing:
        while True:
            guide = self._guidance.guide
            if guide.awaiting_go_on:
                yield from self._set_up("low" if "to low." in guide.do_now else "high")
            elif guide.phase == "trim":
                yield from self._trim(guide.target or TARGET_VOLTS)
            else:
                yield

    def listen(self) -> None:
        self._ear.listen(self._bench.now_s)

    def _set_up(self, name: str) -> Doing:
        yield from self._hand.let_go()
        yield from self._hand.wait(self._switch_s)
        self._bench.set_up(0 if name == "low" else 1)
        self._bench.aim(TARGET_VOLTS)
        yield from self._hand.react()
        self._guidance.press(self._bench.now_s)

    def _trim(self, target_volts: float) -> Doing:
        self._bench.aim(target_volts)
        doing = Listener(self._bench, self._hand, self._ear).adjust()
        while self._guidance.guide.phase == "trim" or self._hand.turning:
            next(doing)
            yield
            if self._bench.at_the_end and not self._hand.turning:
                yield from self._give_up_here()

    def _give_up_here(self) -> Doing:
        """The trimmer has come to its end before the level aimed at: let go, and press once it is still."""
        yield from self._hand.let_go()
        yield from self._hand.wait(STILL_S)
        with suppress(IllegalAction):
            self._guidance.press(self._bench.now_s)


def run(seed: int, *, aim_off: bool) -> Run:
    unit = unit_of(seed)
    bench = PairBench(unit, f"meter rounds {seed}")
    guidance = PairGuidance(bench.case.meter.filter_s, aim_off=aim_off)
    person = Person(bench, guidance, seed)
    doing = person.work()
    rounds = 1
    while guidance.ended is None and bench.now_s < LIMIT_S:
        guidance.pass_on(bench.now_s, bench.step())
        if guidance.ended is None:
            rounds = guidance.guide.round
            person.listen()
            next(doing)
    ended = guidance.ended
    return Run(
        aim_off=aim_off,
        r=unit.r,
        rounds=rounds,
        time_s=bench.now_s - guidance.began_s,
        verdict=None if ended is None else ended.verdict,
        inside=all(abs(error) <= TOLERANCE_DB for error in bench.errors_db()),
        reason="" if ended is None else ended.reason,
    )
