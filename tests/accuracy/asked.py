"""A task for one meter, in short, and its uncertainty by hand: what the tests of fitness ask."""

import math

from meterlog.accuracy import Conditions, InUse, Signal, Waveform
from meterlog.accuracy.appraisal import Observation
from meterlog.accuracy.coverage import factor_of_sum
from meterlog.accuracy.decision import SIMPLE, DecisionRule
from meterlog.accuracy.fitness import Fitness, Meters, Task, fitness
from meterlog.accuracy.spread import Shape, Spread


def asked(
    width: float,
    value: float,
    frequency_hz: float | None = None,
    waveform: Waveform = Waveform.SINE,
    distortion: float = 0.0,
    about: float | None = None,
) -> Task:
    """`about`: another level of the same signal on the same meter."""
    signal = Signal(frequency_hz, waveform, distortion)
    seen = Observation("output", value, 0.0, math.inf, signal)
    other = None if about is None else seen._replace(value=about)
    return Task(width=width, seen=seen, about=other, alike=other is not None)


def judged(task: Task, meter: InUse, conditions: Conditions, rule: DecisionRule = SIMPLE) -> Fitness:
    return fitness(task, Meters({"output": meter}, {"output": conditions}), rule)


def expanded(*bounds: float, counts: tuple[float, ...] = (1e-3,), normal: tuple[float, ...] = ()) -> float:
    """95.45 % of half-widths of rectangles, one count of each display and normal standard uncertainties; the
    factor is held to JCGM 101 in tests/accuracy/test_spread.py."""
    spreads = [Spread(Shape.RECTANGULAR, bound / math.sqrt(3)) for bound in bounds]
    spreads += [Spread(Shape.NORMAL, u) for u in (*normal, *(count / math.sqrt(12) for count in counts))]
    return factor_of_sum(spreads, math.inf) * math.hypot(*(one.standard for one in spreads))
