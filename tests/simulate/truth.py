"""What was recorded against what the unit truly gave then, which nobody at a real bench can know."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from meterlog.procedure import Role, SettledValue
from meterlog.procedure.patterns.stability import FURTHEST
from meterlog.simulate.bench import SimulatedBench


@dataclass(frozen=True, slots=True)
class Taken:
    """A recorded value and the truth of its channel at the moment of capture, and a little before."""

    recorded: SettledValue
    truths: tuple[float, ...]

    @classmethod
    def now(cls, recorded: SettledValue, bench: SimulatedBench, now_s: float) -> "Taken":
        """A hand that turns on after the last reading cannot be seen in it, so for a value that a hand has
        just set the last second counts; for one that nobody touches this moment alone."""
        if recorded.condition == FURTHEST:  # told at the end of a watch, seen in the middle of it
            now_s -= (recorded.at_ns - recorded.since_ns) / 1e9
        touched = recorded.role in (Role.ADJUSTED, Role.SOURCE)
        moments = [now_s - 0.1 * step for step in range(11)] if touched else [now_s]
        return cls(recorded, tuple(bench.outputs(moment)[recorded.channel] for moment in moments))

    @property
    def truth(self) -> float:
        return self.truths[0]

    @property
    def error(self) -> float:
        """How far the value is from what the truth was meanwhile."""
        value = self.recorded.value
        return max(0.0, min(self.truths) - value, value - max(self.truths))

    @property
    def half_window(self) -> float | None:
        """The step's tolerance, in the base unit; None where nothing is judged."""
        low, high = self.recorded.low, self.recorded.high
        return None if low is None or high is None else (high - low) / 2

    def share(self, about: "Taken | None") -> float:
        """The error as a part of the stated expanded uncertainty: 1 is as far as the interval reaches. Of a
        value whose limits lie about another one that is stated of the two as compared."""
        if about is None:
            return self.error / self.recorded.expanded_uncertainty
        target, other = self.recorded.target, about.recorded.value
        ratio = 1.0 if target is None else target / other
        compared = self.recorded.value - self.truth - ratio * (other - about.truth)
        return abs(compared) / self.recorded.expanded_uncertainty


def shares(taken: Iterable[Taken]) -> Iterator[tuple[Taken, float]]:
    """Of the values of one session that nobody touched, with `Taken.share`. The truth of a peak is not known:
    the level was elsewhere when it was told."""
    by_number = {one.recorded.number: one for one in taken}
    for one in by_number.values():
        about = by_number.get(one.recorded.about or 0)
        at_a_peak = about is not None and about.recorded.role is Role.PEAK
        if one.recorded.role is Role.MEASURED and not at_a_peak:
            yield one, one.share(about)
