"""What must hold of every detector for any signal: origin, unit and clock change nothing but what they must,
and no value comes from readings that are none of now. Whole numbers, exact in binary. Invented signals.
"""

from collections.abc import Callable, Iterable
from typing import Any, NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meterlog.detect import BackOff, Crossing, DriftRate, Extremum, Motion, Reason, Settled
from meterlog.reading import State
from tests.detect.signals import Readings


class Scale(NamedTuple):
    """Values are shown as offset + factor x value."""

    offset: float = 0.0
    factor: float = 1.0

    def __call__(self, value: float) -> float:
        return self.offset + self.factor * value


PLAIN = Scale()

Make = Callable[[Scale], Any]

DETECTORS: dict[str, Make] = {
    "settled": lambda to: Settled(lambda _: 3.0 * to.factor, 1.0),
    "maximum": lambda to: Extremum("maximum", lambda _: 8.0 * to.factor),
    "minimum": lambda to: Extremum("minimum", lambda _: 8.0 * to.factor),
    "fall": lambda to: BackOff(to(120.0), to(90.0)),
    "rise": lambda to: BackOff(to(80.0), to(110.0), lag_s=0.25),
    "crossing": lambda to: Crossing(to(100.5), lambda _: 2.0 * to.factor),
    "drift": lambda to: DriftRate(8.0),
}
LEVELS = ("value", "level", "present", "target")
WIDTHS = (
    "standard_uncertainty",
    "spread",
    "departure",
    "remaining",
    "overshoot",
    "rate_per_s",
    "standard_error",
)
THE_SAME = ("motion", "reason", "course", "revised", "readings", "wild", "at_end", "rising", "slow_down")
TIMES = ("at_s", "reached_s", "since_s")

walks = st.lists(
    st.tuples(st.sampled_from([1, 1, 1, 2]), st.sampled_from([0, 0, 0, 1, -1, 4, -4, 20, -20])), max_size=90
)


def readings(walk: list[tuple[int, int]]) -> Readings:
    """Ticks of a quarter second and moves in counts, added up."""
    tick, level, result = 0, 100, []
    for ticks, move in walk:
        tick, level = tick + ticks, level + move
        result.append((0.25 * tick, float(level)))
    return result


def verdicts(make: Make, signal: Iterable[tuple[float, float]], to: Scale = PLAIN) -> list[Any]:
    detector = make(to)
    return [detector.update(t, to(x), State.OK, resolution=abs(to.factor)) for t, x in signal]


def fields(verdict: Any, names: tuple[str, ...]) -> dict[str, Any]:
    return {name: getattr(verdict, name) for name in names if hasattr(verdict, name)}


def same(a: Any, b: Any, *, to: Scale = PLAIN, later_s: float = 0.0) -> None:
    """`b` says of the signal shown at `to`, and later, what `a` says of the plain one."""
    assert fields(a, THE_SAME) == fields(b, THE_SAME)
    for names, show in (
        (LEVELS, to),
        (WIDTHS, lambda x: abs(to.factor) * x),
        (TIMES, lambda x: x + later_s),
    ):
        for name, value in fields(a, names).items():
            expected = None if value is None else pytest.approx(show(value), rel=1e-9, abs=1e-9)
            assert getattr(b, name) == expected, name


@pytest.mark.parametrize("name", DETECTORS)
@settings(max_examples=40, deadline=None)
@given(walk=walks, constant=st.integers(-1000, 1000))
def test_a_constant_moves_levels_and_nothing_else(
    name: str, walk: list[tuple[int, int]], constant: int
) -> None:
    make, to, signal = DETECTORS[name], Scale(offset=float(constant)), readings(walk)
    for a, b in zip(verdicts(make, signal), verdicts(make, signal, to), strict=True):
        same(a, b, to=to)


@pytest.mark.parametrize("name", DETECTORS)
@settings(max_examples=40, deadline=None)
@given(walk=walks, power=st.integers(-20, 20))
def test_another_unit_scales_levels_and_widths(name: str, walk: list[tuple[int, int]], power: int) -> None:
    make, to, signal = DETECTORS[name], Scale(factor=2.0**power), readings(walk)
    for a, b in zip(verdicts(make, signal), verdicts(make, signal, to), strict=True):
        same(a, b, to=to)


@pytest.mark.parametrize("name", DETECTORS)
@settings(max_examples=40, deadline=None)
@given(walk=walks, quarters=st.integers(-4000, 4000))
def test_another_beginning_of_time_shifts_times(
    name: str, walk: list[tuple[int, int]], quarters: int
) -> None:
    make, signal, later_s = DETECTORS[name], readings(walk), 0.25 * quarters
    later = [(t + later_s, x) for t, x in signal]
    for a, b in zip(verdicts(make, signal), verdicts(make, later), strict=True):
        same(a, b, later_s=later_s)


@pytest.mark.parametrize("name", DETECTORS)
@settings(max_examples=40, deadline=None)
@given(walk=walks, data=st.data())
def test_packets_twice_and_late_change_nothing(
    name: str, walk: list[tuple[int, int]], data: st.DataObject
) -> None:
    plain, detector = verdicts(DETECTORS[name], readings(walk)), DETECTORS[name](PLAIN)
    for (t, x), expected in zip(readings(walk), plain, strict=True):
        same(expected, detector.update(t, x, State.OK, resolution=1.0))
        early_s = data.draw(st.sampled_from([0.0, 0.25, 3.0]))
        detector.update(t - early_s, x + 50.0, State.OK, resolution=1.0)


@pytest.mark.parametrize("name", DETECTORS)
@settings(max_examples=40, deadline=None)
@given(walk=walks)
def test_replay_is_the_same_to_the_last_bit(name: str, walk: list[tuple[int, int]]) -> None:
    assert verdicts(DETECTORS[name], readings(walk)) == verdicts(DETECTORS[name], readings(walk))


STILL = [(0.25 * i, 100.0) for i in range(40)]


def standing() -> Settled:
    detector = Settled(lambda _: 3.0, 1.0)
    for t, x in STILL:
        last = detector.update(t, x, State.OK, resolution=1.0)
    assert last.motion is Motion.SETTLED
    return detector


@given(st.sampled_from([State.OVERLOAD, State.UNDERLOAD, State.BLANK, State.INVALID]), st.integers(0, 3))
def test_no_value_within_a_dwell_of_what_is_no_number(state: State, after: int) -> None:
    detector = standing()
    detector.update(10.0, None, state)
    for i in range(after):
        assert detector.update(10.25 + 0.25 * i, 100.0, State.OK).motion is not Motion.SETTLED


@given(st.integers(0, 3))
def test_no_value_from_a_held_display_nor_within_a_dwell_of_it(after: int) -> None:
    detector = standing()
    for i in range(20):
        held = detector.hold(10.0 + 0.25 * i)
        assert (held.motion, held.reason, held.value) == (Motion.WAITING, Reason.HELD, None)
    for i in range(after):
        assert detector.update(15.0 + 0.25 * i, 100.0, State.OK).motion is not Motion.SETTLED


@given(st.floats(2.1, 1e6))
def test_no_value_from_before_a_silence(silence_s: float) -> None:
    detector = standing()
    assert detector.look(STILL[-1][0] + 0.5).motion is Motion.SETTLED
    silent = detector.look(STILL[-1][0] + silence_s)
    assert (silent.motion, silent.reason, silent.value) == (Motion.WAITING, Reason.SILENT, None)
    assert silent.for_s == pytest.approx(silence_s)


def test_before_the_first_reading_the_meter_is_silent() -> None:
    assert Settled(lambda _: 3.0, 1.0).look(5.0).reason is Reason.SILENT


@given(st.integers(1, 500))
def test_no_value_from_one_reading_however_often_it_comes(times: int) -> None:
    detector = Settled(lambda _: 3.0, 1.0)
    for _ in range(times):
        assert detector.update(5.0, 100.0, State.OK).motion is not Motion.SETTLED


def test_a_clock_set_back_begins_anew_instead_of_hearing_nothing_more() -> None:
    detector = standing()
    back = [detector.update(t - 3600.0, x + 50.0, State.OK, resolution=1.0) for t, x in STILL]
    assert back[0].motion is Motion.WAITING
    assert back[-1].motion is Motion.SETTLED
    assert back[-1].value == pytest.approx(150.0)
