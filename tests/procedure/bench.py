"""A bench without wires: a level per channel, a hand that moves it, time that is only counted.

Everything here is invented for the tests; the numbers that matter stand in the tests beside their source.
"""

import math
import random
from collections.abc import Callable, Mapping

from meterlog.accuracy import InUse
from meterlog.procedure import (
    GUIDED_BY_THE_RULE,
    Acted,
    ActionKind,
    Engine,
    Event,
    Measured,
    Outcome,
    SettledValue,
    Ticked,
    load_procedure_text,
)
from meterlog.quantity import Unit
from meterlog.reading import Reading, State

NS = 1_000_000_000
PERIOD_S = 0.2

HEAD = """
[procedure]
title = "Test"
revision = "1"
unit = "Unit"
[levels]
vu = "+4 dBu"
[[channel]]
name = "output"
unit = "V"
show = "dBu"
[[channel]]
name = "panel"
unit = "V"
show = "mV"
"""


class Bench:
    """Drives one engine. `levels` maps a channel to a function of the time in seconds, in volts."""

    def __init__(
        self,
        steps: str,
        *,
        seed: int = 1,
        noise: float = 2e-4,
        meters: Mapping[str, InUse] | None = None,
        rule: str = "",
        start: str = GUIDED_BY_THE_RULE,
    ) -> None:
        """`rule`: more lines for the head of the file; `start`: the text of the beginning."""
        text = HEAD.replace('revision = "1"', f'revision = "1"\n{rule}') + steps
        self.engine = Engine(load_procedure_text(text, "test.toml"), meters)
        self.levels: dict[str, Callable[[float], float]] = {}
        self.events: list[Event] = []
        self.outcomes: list[Outcome] = []
        self.now_s = 0.0
        self.fields: dict[str, object] = {}  # of every reading from now on
        self._noise = noise
        self._random = random.Random(seed)
        self.act(ActionKind.START, start)

    @property
    def settled(self) -> list[SettledValue]:
        return [outcome for outcome in self.outcomes if isinstance(outcome, SettledValue)]

    def give(self, event: Event) -> list[Outcome]:
        out = self.engine.apply(event)
        self.events.append(event)
        self.outcomes += out
        return out

    def act(self, kind: ActionKind, text: str = "", place: int | None = None) -> list[Outcome]:
        return self.give(Acted(round(self.now_s * NS), kind, text, place))

    def press(self) -> list[Outcome]:
        return self.act(ActionKind.GO_ON)

    def reading(self, channel: str, value: float | None, **fields: object) -> Reading:
        at_ns = round(self.now_s * NS)
        shown = {
            "monotonic_ns": at_ns,
            "time_ns": at_ns,
            "channel": channel,
            "value": value,
            "unit": Unit.VOLT,
            "state": State.OK if value is not None else State.OVERLOAD,
            "resolution": 1e-4,
        }
        return Reading(**(shown | fields))  # type: ignore[arg-type]

    def run_to(self, place: int, **levels: float | Callable[[float], float]) -> None:
        """Until the session has come to this place in its plan; a minute at most."""
        end_s = self.now_s + 60
        while self.engine.place != place and self.now_s < end_s:
            self.run(PERIOD_S, **levels)

    def run(self, seconds: float, **levels: float | Callable[[float], float]) -> list[Outcome]:
        """Let time pass with the channels at these levels (volts, or volts over the seconds since now)."""
        began_s, out = self.now_s, []
        for _ in range(round(seconds / PERIOD_S)):
            self.now_s += PERIOD_S
            for channel, level in levels.items():
                volts = level(self.now_s - began_s) if callable(level) else level
                volts *= 1 + self._random.gauss(0, self._noise)
                value = round(volts, 4)
                reading = self.reading(channel, value, **self.fields)
                out += self.give(Measured(round(self.now_s * NS), reading))
            out += self.give(Ticked(round(self.now_s * NS)))
            assert self.engine.view().guide.do_now, "there is always something to say"
        return out


def ramp(start: float, end: float, seconds: float) -> Callable[[float], float]:
    """Straight from `start` to `end`, then still."""
    return lambda t: start + (end - start) * min(1.0, t / seconds)


def hump(peak: float, width_s: float, at_s: float) -> Callable[[float], float]:
    """A smooth maximum passed at `at_s`."""
    return lambda t: peak * math.exp(-(((t - at_s) / width_s) ** 2))
