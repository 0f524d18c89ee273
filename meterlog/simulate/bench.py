"""The bench: one unit, where its trimmers stand now and stood a moment ago, and the volts at its points.

Thread-safe: the control server changes positions while meters look. A meter may ask for any moment of
the last seconds, so its filter can be computed when it is read instead of by a thread of its own.
"""

import threading
from bisect import bisect_right
from collections.abc import Callable, Mapping
from dataclasses import replace

from meterlog.simulate.clock import Clock
from meterlog.simulate.errors import SimulateError
from meterlog.simulate.unit import Control, Positions, Unit

MEMORY_S = 10.0
Signal = Callable[[float], float]


class SimulatedBench:
    """A unit on a bench, as `Signal`s for meters and as screws and knobs for hands."""

    def __init__(self, unit: Unit, clock: Clock) -> None:
        self.unit = unit
        self._clock = clock
        self._lock = threading.Lock()
        start = Positions(
            {name: plan.fresh() for name, plan in unit.trimmers.items()},
            {name: control.start for name, control in unit.controls.items()},
        )
        self._times_s = [clock.now_s()]
        self._positions = [replace(start, lit=unit.lit(start))]

    def turn(self, name: str, *, by: float) -> float:
        """Turn a trimmer by a share of its travel; returns where the shaft then stands."""
        if name not in self.unit.trimmers:
            raise SimulateError(f"no trimmer {name!r} here; there are {', '.join(self.unit.trimmers)}")
        with self._lock:
            latest = self._positions[-1]
            turned = latest.trimmers[name].turned(by)
            self._remember(replace(latest, trimmers={**latest.trimmers, name: turned}))
        return turned.shaft

    def turn_to(self, name: str, shaft: float) -> float:
        """Turn a trimmer to a place of its travel (0 to 1)."""
        at = self.now().trimmers.get(name)
        return self.turn(name, by=shaft - at.shaft if at else 0.0)

    def set(self, changes: Mapping[str, object]) -> None:
        """Set controls, all of them or, when one is refused, none."""
        accepted = {name: self._control(name).accept(name, value) for name, value in changes.items()}
        with self._lock:
            latest = self._positions[-1]
            moved = {name for name, value in accepted.items() if latest.controls[name] != value}
            set_s = {**latest.set_s, **dict.fromkeys(moved, self._clock.now_s())}
            self._remember(replace(latest, controls={**latest.controls, **accepted}, set_s=set_s))

    def now(self) -> Positions:
        """The latest positions."""
        with self._lock:
            return self._positions[-1]

    def outputs(self, time_s: float) -> Mapping[str, float]:
        """True volts at every point at a moment of the last ten seconds."""
        with self._lock:
            now, before = self._at(time_s), self._at(time_s - self.unit.delay_s)
        return self.unit.outputs(now, before, time_s)

    def signal(self, point: str) -> Signal:
        """The volts at one point as a function of time, for a meter to look at."""
        return lambda time_s: self.outputs(time_s)[point]

    def now_s(self) -> float:
        return self._clock.now_s()

    def _control(self, name: str) -> Control:
        if name not in self.unit.controls:
            raise SimulateError(f"no control {name!r} here; there are {', '.join(self.unit.controls)}")
        return self.unit.controls[name]

    def _at(self, time_s: float) -> Positions:
        return self._positions[max(0, bisect_right(self._times_s, time_s) - 1)]

    def _remember(self, positions: Positions) -> None:
        self._times_s.append(self._clock.now_s())
        self._positions.append(replace(positions, lit=self.unit.lit(positions)))
        old = bisect_right(self._times_s, self._times_s[-1] - MEMORY_S) - 1
        if old > 0:  # the one before the oldest moment is still needed: it says how things stood then
            del self._times_s[:old], self._positions[:old]
