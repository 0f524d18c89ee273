"""The exponential tail against the table of a first-order lag.

tests/reference/steady_state/first_order_settling.csv, computed: -ln(remaining error).
"""

import math
import random
from statistics import fmean, pstdev

import pytest

from tests.detect.signals import column
from tests.trials.settling.methods.exponential import TailTest, tail_through
from tests.trials.settling.methods.floor import Floor
from tests.trials.settling.methods.recent import Recent
from tests.trials.settling.trial import Task

TAU_S, PERIOD_S = 2.0, 0.05
TASK = Task(tolerance=1e-3, dwell_s=1.0, period_s=PERIOD_S)
TABLE = list(
    zip(
        *(
            column("steady_state/first_order_settling.csv", name)
            for name in ("remaining_error", "time_constants")
        ),
        strict=True,
    )
)


def level(time_s: float) -> float:
    return 10.0 - math.exp(-time_s / TAU_S)


def groups(start_s: float, each: int) -> list[float]:
    xs = [level(start_s + i * PERIOD_S) for i in range(3 * each)]
    return [fmean(xs[i : i + each]) for i in range(0, 3 * each, each)]


@pytest.mark.parametrize("each", [2, 10, 40])
@pytest.mark.parametrize("start_s", [0.0, 3.0])
def test_end_and_time_constant_are_recovered(start_s: float, each: int) -> None:
    tail = tail_through(*groups(start_s, each))
    assert tail is not None
    assert tail.end == pytest.approx(10.0, abs=1e-9)
    assert tail.time_constant_s(each * PERIOD_S) == pytest.approx(TAU_S, rel=1e-6)


@pytest.mark.parametrize(("remaining", "time_constants"), TABLE[:8])
def test_it_settles_at_the_time_of_the_table(remaining: float, time_constants: float) -> None:
    """To a reading; the window is full after a second."""
    test = TailTest(
        1.0, Recent(1.0), Floor(TASK, 0.0), z=0.05, remaining=remaining, limit=1e-4, spread=math.inf
    )
    settled_s = next(t for t in (i * PERIOD_S for i in range(1000)) if test.take(t, level(t), 0.0))
    assert settled_s == pytest.approx(time_constants * TAU_S, abs=1.01 * PERIOD_S)


def test_the_standard_deviation_of_the_end_is_as_told() -> None:
    """First-order propagation, good while the noise is small against the tail."""
    noise, sigma = random.Random("tails"), 1e-4
    means = groups(1.0, 20)
    exact = tail_through(*means)
    assert exact is not None
    tails = [tail_through(*(mean + noise.gauss(0.0, sigma) for mean in means)) for _ in range(2000)]
    ends = [tail.end for tail in tails if tail is not None]
    assert len(ends) == 2000
    assert pstdev(ends) == pytest.approx(exact.weight * sigma, rel=0.06)


@pytest.mark.parametrize("means", [(0.0, 1.0, 2.0), (0.0, 1.0, 3.0), (0.0, 1.0, 0.5), (1.0, 1.0, 2.0)])
def test_what_tends_nowhere_has_no_tail(means: tuple[float, float, float]) -> None:
    assert tail_through(*means) is None
