"""What must hold of "settled" for any signal, beside what holds of every detector (test_properties)."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meterlog.detect import Settled, Settlement
from tests.detect.signals import Readings, feed

TOLERANCE = 3.0  # counts; all values below are whole counts, so that shifting them is exact

walks = st.lists(
    st.tuples(st.sampled_from([1, 1, 1, 2]), st.sampled_from([0, 0, 0, 0, 1, -1, 20, -20])), max_size=80
)


def readings(walk: list[tuple[int, int]]) -> Readings:
    """Ticks of a quarter second and moves in counts, added up. Both exact in binary."""
    tick, level, result = 0, 100, []
    for ticks, move in walk:
        tick, level = tick + ticks, level + move
        result.append((tick * 0.25, float(level)))
    return result


def verdicts(signal: Readings) -> list[Settlement]:
    return [v for _, v in feed(Settled(lambda _: TOLERANCE, 1.0), signal, 1.0)]


@settings(deadline=None)
@given(walks)
def test_turning_the_signal_over_turns_the_value_over(walk: list[tuple[int, int]]) -> None:
    plain = verdicts(readings(walk))
    over = verdicts([(t, -x) for t, x in readings(walk)])
    assert [(v.motion, v.revised, v.standard_uncertainty) for v in plain] == [
        (v.motion, v.revised, v.standard_uncertainty) for v in over
    ]


@settings(deadline=None)
@given(walks)
def test_the_uncertainty_is_never_below_one_count_over_root_twelve(walk: list[tuple[int, int]]) -> None:
    for v in verdicts(readings(walk)):
        assert v.standard_uncertainty is None or v.standard_uncertainty >= 1.0 / 12**0.5 - 1e-12
        assert v.degrees_of_freedom is None or v.degrees_of_freedom >= 1.0


@settings(max_examples=30, deadline=None)
@given(st.floats(0.5, 100.0), st.sampled_from([0.1, 0.25, 0.4, 1.0]), st.integers(-5, 5))
def test_a_still_level_is_always_captured(dwell_s: float, period_s: float, level: int) -> None:
    n = int(1.1 * dwell_s / period_s) + 8  # a fast meter is judged 16 times a dwell
    verdict = verdicts_of_still(dwell_s, [(i * period_s, float(level)) for i in range(n)])
    assert verdict.value == pytest.approx(level)


def verdicts_of_still(dwell_s: float, signal: Readings) -> Settlement:
    last = feed(Settled(lambda _: 0.5, dwell_s), signal)[-1][1]
    assert last.motion == "settled"
    return last
