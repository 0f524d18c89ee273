"""A scenario's unit, its meters and a technician in virtual time, with the real engine between them."""

import contextlib
from collections.abc import Mapping
from pathlib import Path

from meterlog.accuracy import InUse
from meterlog.bench import FUNCTION_UNITS
from meterlog.bench.specification_file import find_specification
from meterlog.procedure import (
    Acted,
    ActionKind,
    Engine,
    IllegalAction,
    Measured,
    Outcome,
    Pass,
    Procedure,
    SessionState,
    SettledValue,
    Ticked,
    load_procedure,
)
from meterlog.reading import Coupling, Reading, State
from meterlog.simulate import meters
from meterlog.simulate.bench import SimulatedBench
from meterlog.simulate.look import GO_ON, Look
from meterlog.simulate.scenario import Point, Scenario
from meterlog.simulate.scenarios.tape_machine_steps import TAPE_MACHINE
from meterlog.simulate.technician import Technician
from meterlog.simulate.unit import Value
from tests.simulate.looking import look_of
from tests.simulate.truth import Taken

PROCEDURES = Path(__file__).parents[2] / "config" / "procedures"
TICK_S = 0.05


class VirtualClock:
    """Stands still until it is told to go on."""

    speed = 1.0

    def __init__(self) -> None:
        self.time_s = 0.0

    def now_s(self) -> float:
        return self.time_s


def in_use(scenario: Scenario) -> dict[str, InUse]:
    """What the meters can do, as the bench file of the scenario says it; they choose their ranges."""
    return {
        name: InUse(
            meter=scenario.meter_name(name),
            specification=find_specification(meters.specification_of(point), PROCEDURES).specification,
            function=point.function,
            coupling=Coupling(point.coupling),
        )
        for name, point in scenario.points.items()
    }


class Channel:
    """One meter that shows a new reading each period."""

    def __init__(self, bench: SimulatedBench, name: str, point: Point, seed: int) -> None:
        self.name = name
        self.shown: float | None = None
        self._model = meters.model_of(name, point, bench, seed)
        self._coupling, self._unit = Coupling(point.coupling), FUNCTION_UNITS[point.function]
        self._period_s, self._due_s = meters.period_s(point), 0.0

    def reading(self, now_s: float) -> Reading | None:
        if now_s < self._due_s:
            return None
        self._due_s += self._period_s
        shown = self._model.indicate(now_s)
        self.shown = None if shown.range_moved else shown.value
        now_ns = round(now_s * 1e9)
        return Reading(
            channel=self.name,
            time_ns=now_ns,
            monotonic_ns=now_ns,
            value=self.shown,
            unit=self._unit,
            state=State.OK if self.shown is not None else State.BLANK,
            coupling=self._coupling,
            resolution=shown.resolution,
            range_max=shown.range_volts,
        )


class VirtualBench:
    """`Acts` for the technician; `run` works through the procedure as fast as the processor can."""

    def __init__(
        self,
        seed: int = 0,
        trimmers: Mapping[str, float] | None = None,
        scenario: Scenario = TAPE_MACHINE,
        procedure: Procedure | None = None,
    ) -> None:
        self.clock = VirtualClock()
        self.bench = SimulatedBench(scenario.unit(seed), self.clock)
        for name, to in (trimmers or {}).items():
            self.bench.turn_to(name, to)
        self.engine = Engine(
            procedure or load_procedure(PROCEDURES / f"{scenario.name}.toml"), in_use(scenario)
        )
        self.outcomes: list[Outcome] = []
        self.taken: list[Taken] = []
        self.scenario = scenario
        self.seed = seed
        self.turned_in: set[Pass] = set()
        self.channels = [Channel(self.bench, name, point, seed) for name, point in scenario.points.items()]
        self.technician = Technician(scenario.steps, self, seed)

    def turn(self, trimmer: str, by: float) -> None:
        self.turned_in.add(self.engine.view().pass_)
        self.bench.turn(trimmer, by=by)

    def set(self, control: str, value: Value) -> None:
        self.bench.set({control: value})

    def press(self, key: str) -> None:
        assert key == GO_ON
        with contextlib.suppress(IllegalAction):  # refused, as on the page; the foot may try again
            self._apply(Acted(self._at_ns, ActionKind.GO_ON))

    def enter(self, text: str) -> None:
        self._apply(Acted(self._at_ns, ActionKind.ENTER, text))

    def run(self, limit_s: float) -> None:
        """Until the session is closed; fails when it is not within this much virtual time."""
        self.begin()
        while self.engine.state is not SessionState.ENDED:
            assert self.clock.time_s < limit_s, f"stuck: {self.engine.view()}"
            self.glance()

    def begin(self) -> None:
        self._apply(Acted(0, ActionKind.START))

    def glance(self) -> None:
        """A moment passes: meters, timers, and what the technician does about it."""
        self.clock.time_s += TICK_S
        self._read_meters()
        self._apply(Ticked(self._at_ns))
        self.technician.see(self._look())

    @property
    def _at_ns(self) -> int:
        return round(self.clock.time_s * 1e9)

    def _apply(self, event: Acted | Measured | Ticked) -> None:
        fresh = self.engine.apply(event)
        self.outcomes += fresh
        self.taken += [
            Taken.now(one, self.bench, self.clock.time_s)
            for one in fresh
            if isinstance(one, SettledValue) and one.channel in self.scenario.points
        ]

    def _read_meters(self) -> None:
        for channel in self.channels:
            reading = channel.reading(self.clock.time_s)
            if reading is not None and self.engine.state is not SessionState.ENDED:
                self._apply(Measured(self._at_ns, reading))

    def _look(self) -> Look:
        shown = {channel.name: channel.shown for channel in self.channels}
        return look_of(self.engine.view(), shown, self.bench, self.clock.time_s)
