"""What must hold for any signal: origin, units and delivery change nothing; replay gives the same bits."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meterlog.detect import Settled, Settlement
from meterlog.reading import State
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


def verdicts(signal: Readings, tolerance: float = TOLERANCE, count: float = 1.0) -> list[Settlement]:
    return [v for _, v in feed(Settled(lambda _: tolerance, 1.0), signal, count)]


@settings(deadline=None)
@given(walks)
def test_replay_is_the_same_to_the_last_bit(walk: list[tuple[int, int]]) -> None:
    assert verdicts(readings(walk)) == verdicts(readings(walk))


@settings(deadline=None)
@given(walks, st.integers(-1000, 1000))
def test_adding_a_constant_moves_the_value_by_it(walk: list[tuple[int, int]], constant: int) -> None:
    plain = verdicts(readings(walk))
    moved = verdicts([(t, x + constant) for t, x in readings(walk)])
    for a, b in zip(plain, moved, strict=True):
        assert (a.motion, a.reason, a.revised, a.readings) == (b.motion, b.reason, b.revised, b.readings)
        assert (a.value is None) == (b.value is None)
        if a.value is not None and b.value is not None:
            assert b.value - constant == pytest.approx(a.value, abs=1e-9)
        assert (a.standard_uncertainty is None) == (b.standard_uncertainty is None)
        if a.standard_uncertainty is not None:  # means round, so to a few bits
            assert b.standard_uncertainty == pytest.approx(a.standard_uncertainty, rel=1e-9)


@settings(deadline=None)
@given(walks, st.integers(-20, 20))
def test_another_unit_scales_value_and_uncertainty(walk: list[tuple[int, int]], power: int) -> None:
    """By powers of two, which are exact in binary, so every decision must be the same."""
    factor = 2.0**power
    plain = verdicts(readings(walk))
    scaled = verdicts([(t, x * factor) for t, x in readings(walk)], TOLERANCE * factor, factor)
    for a, b in zip(plain, scaled, strict=True):
        assert (a.motion, a.reason, a.revised) == (b.motion, b.reason, b.revised)
        for x, y in (
            (a.value, b.value),
            (a.standard_uncertainty, b.standard_uncertainty),
            (a.spread, b.spread),
        ):
            assert y == (None if x is None else x * factor)


@settings(deadline=None)
@given(walks)
def test_turning_the_signal_over_turns_the_value_over(walk: list[tuple[int, int]]) -> None:
    plain = verdicts(readings(walk))
    over = verdicts([(t, -x) for t, x in readings(walk)])
    assert [(v.motion, v.revised, v.standard_uncertainty) for v in plain] == [
        (v.motion, v.revised, v.standard_uncertainty) for v in over
    ]


@settings(deadline=None)
@given(walks, st.data())
def test_duplicates_and_late_readings_change_nothing(
    walk: list[tuple[int, int]], data: st.DataObject
) -> None:
    plain = verdicts(readings(walk))
    detector = Settled(lambda _: TOLERANCE, 1.0)
    for (t, x), expected in zip(readings(walk), plain, strict=True):
        assert detector.update(t, x, State.OK, resolution=1.0) == expected
        early = data.draw(st.sampled_from([0.0, 0.25, 3.0]))
        repeated = detector.update(t - early, x + 50.0, State.OK, resolution=1.0)
        assert (repeated.motion, repeated.value, repeated.revised) == (expected.motion, expected.value, False)


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
