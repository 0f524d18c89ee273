"""A generic meter: AC filter, noise, gain error, ranges, counts. It turns volts into what a display shows."""

import math
import random
from dataclasses import dataclass

from meterlog.simulate.bench import Signal

STEP_S = 0.02
FILTER_MEMORY = 8.0
"""Time constants after which a first-order filter has forgotten: e**-8 is 0.03 %."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterPlan:
    """How good a meter is.

    ranges_volts    full scales, rising, in the unit of what is measured
    counts          counts of a full scale, the same on every range
    overrange       how far beyond full scale the display still counts, as a factor
    gain_within     its error of gain lies anywhere within this share of the reading
    filter_s        time constant of the AC filter (or of the DC input), first order
    noise_counts    spread of a reading that does not depend on the signal, in counts
    noise_of_value  spread in proportion to the signal
    """

    ranges_volts: tuple[float, ...]
    counts: int
    filter_s: float
    noise_counts: float
    noise_of_value: float = 0.0
    overrange: float = 1.0
    gain_within: float = 0.0


@dataclass(frozen=True, slots=True)
class Shown:
    """One display: `value` in volts, None on overload; one count is `resolution` volts."""

    value: float | None
    range_volts: float
    resolution: float
    range_moved: bool


class MeterModel:
    """One function of one meter, looking at one signal. Used by one thread.

    `gain`: what it shows of one true volt, as long as it lives.
    """

    def __init__(self, plan: MeterPlan, signal: Signal, seed: str) -> None:
        self.plan = plan
        self.filter_s = plan.filter_s
        drawn = random.Random(f"{seed} gain")  # noqa: S311 - it must repeat too
        self.gain = 1.0 + plan.gain_within * drawn.uniform(-1.0, 1.0)
        self.fixed_volts: float | None = None
        self._signal = signal
        self._random = random.Random(seed)  # noqa: S311 - noise that must repeat, not a secret
        self.range_index = 0
        self._filtered: tuple[float, float] | None = None

    def indicate(self, at_s: float) -> Shown:
        """What the display shows at this moment."""
        volts = self._filter(at_s) * self.gain
        volts += self._random.gauss(0, 1) * self.plan.noise_of_value * abs(volts)
        moved = self._choose_range(volts)
        full = self.plan.ranges_volts[self.range_index]
        resolution = full / self.plan.counts
        count = round(volts / resolution + self._random.gauss(0, 1) * self.plan.noise_counts)
        shown = count * resolution if abs(count) < self.plan.counts * self.plan.overrange else None
        return Shown(shown, full, resolution, moved)

    def fix_range(self, volts: float | None) -> bool:
        """Hold the smallest range that can show this; None: choose by itself. False: it has no such range."""
        if volts is not None and volts > self.plan.ranges_volts[-1]:
            return False
        self.fixed_volts = volts and next(full for full in self.plan.ranges_volts if full >= volts)
        return True

    def _filter(self, at_s: float) -> float:
        """The signal through the filter, computed now from where it was left; far back is forgotten."""
        oldest_s = at_s - FILTER_MEMORY * self.filter_s
        then_s, level = self._filtered or (oldest_s, self._signal(oldest_s))
        if then_s < oldest_s:
            then_s, level = oldest_s, self._signal(oldest_s)
        steps = max(1, math.ceil((at_s - then_s) / STEP_S))
        step_s = (at_s - then_s) / steps
        keep = math.exp(-step_s / self.filter_s)
        for number in range(steps):
            level += (self._signal(then_s + (number + 0.5) * step_s) - level) * (1 - keep)
        self._filtered = (at_s, level)
        return level

    def _choose_range(self, volts: float) -> bool:
        """Up when the display is full, down when the range below would be used to 90 %; true if it moved."""
        before = self.range_index
        ranges = self.plan.ranges_volts
        if self.fixed_volts is not None:
            self.range_index = ranges.index(self.fixed_volts)
            return self.range_index != before
        size = abs(volts) / self.plan.overrange
        while self.range_index + 1 < len(ranges) and size >= ranges[self.range_index]:
            self.range_index += 1
        while self.range_index and size < 0.9 * ranges[self.range_index - 1]:
            self.range_index -= 1
        return self.range_index != before
