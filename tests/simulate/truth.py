"""What was recorded against what the unit truly gave then, which nobody at a real bench can know."""

from dataclasses import dataclass

from meterlog.procedure import Role, SettledValue
from meterlog.procedure.patterns.stability import FURTHEST
from meterlog.simulate import meters
from meterlog.simulate.bench import SimulatedBench
from meterlog.simulate.scenario import Scenario


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

    def meter_error(self, scenario: Scenario) -> float:
        """How far off the simulated meter itself is: its gain, and half a count of its range."""
        plan = meters.plan_of(scenario.points[self.recorded.channel])
        size = abs(self.truth)
        full = next((one for one in plan.ranges_volts if one >= size), plan.ranges_volts[-1])
        return abs(plan.gain - 1) * size + full / plan.counts / 2

    def allowed(self, scenario: Scenario) -> float:
        """The stated expanded uncertainty and the meter's own error."""
        return self.recorded.expanded_uncertainty + self.meter_error(scenario)
