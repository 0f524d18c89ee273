"""Extremum over a trimmer swept by hand. Invented levels; the traps are common practice."""

import math
import random
import statistics
from itertools import pairwise
from typing import Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meterlog.detect import Course, Extremum, Peak
from meterlog.detect.extremum import BENDS, DEGREES_PER_BEND, bend, noise_of
from meterlog.reading import State
from tests.detect.signals import Readings, feed

PERIOD_S = 0.4
BRACKET = 0.05


def trimmer(position: float) -> float:
    """Level over trimmer position: a peak of 1.0 at 0, 0.8 at one turn away."""
    return 1.0 / (1.0 + 0.25 * position * position)


def swept(
    *positions: float, speed: float = 0.25, sigma: float = 0.0, seed: int = 1, pause: int = 3
) -> Readings:
    """Readings while the hand goes from position to position, evenly, with a pause at each."""
    noise, levels = random.Random(seed), [trimmer(positions[0])] * pause
    for start, end in pairwise(positions):
        steps = max(1, round(abs(end - start) / (speed * PERIOD_S)))
        levels += [trimmer(start + (end - start) * (i + 1) / steps) for i in range(steps)]
        levels += [trimmer(end)] * pause
    return [(i * PERIOD_S, x + noise.gauss(0.0, sigma)) for i, x in enumerate(levels)]


def find(
    readings: Readings, kind: Literal["maximum", "minimum"] = "maximum", count: float = 0.0
) -> list[Peak]:
    return [v for _, v in feed(Extremum(kind, lambda _: BRACKET), readings, count)]


def test_a_sweep_over_the_peak_brackets_it() -> None:
    peaks = find(swept(-2.0, 2.0))
    assert peaks[2].course is Course.APPROACHING
    last = peaks[-1]
    assert last.course is Course.BRACKETED
    assert last.level == pytest.approx(1.0, abs=0.001)
    assert last.at_s == pytest.approx((2 + 2.0 / 0.1) * PERIOD_S, abs=PERIOD_S / 2.0)
    assert last.departure == pytest.approx(0.5, abs=0.01)
    assert not last.at_end


def test_it_is_bracketed_only_when_the_level_has_gone_by_the_bracket_on_both_sides() -> None:
    readings = swept(-2.0, 2.0)
    for (_, level), peak in zip(readings, find(readings), strict=True):
        if peak.course is Course.BRACKETED:
            assert level <= 1.0 - BRACKET
            return
    pytest.fail("never bracketed")


def test_stopping_short_of_the_bracket_is_no_bracket() -> None:
    assert find(swept(-2.0, 0.3))[-1].course is Course.APPROACHING


def test_the_peak_found_from_its_end_stop_is_said_to_be_at_an_end() -> None:
    last = find(swept(0.0, 2.0))[-1]
    assert last.course is Course.PASSED
    assert last.at_end


def test_a_monotonous_flank_is_no_peak() -> None:
    assert find(swept(-3.0, -0.5))[-1].course is Course.APPROACHING


def test_pauses_and_returns_on_the_flank_do_not_matter() -> None:
    last = find(swept(-2.0, -1.0, -1.4, -0.3, -0.8, 0.2, -0.1, 1.5))[-1]
    assert last.course is Course.BRACKETED
    assert last.level == pytest.approx(1.0, abs=0.005)


def test_going_back_to_the_peak_leaves_it_bracketed() -> None:
    last = find(swept(-2.0, 2.0, 0.0))[-1]
    assert last.course is Course.BRACKETED
    assert last.departure == pytest.approx(0.0, abs=0.002)


def test_a_side_peak_is_given_up_for_a_higher_one() -> None:
    """A fine tone has side peaks; the search must not stay on the first."""
    side = [(t, 0.8 * x) for t, x in swept(-2.0, 2.0)]
    main = [(side[-1][0] + PERIOD_S + t, x) for t, x in swept(-2.0, 0.0)]
    peaks = find(side + main)
    assert peaks[len(side) - 1].course is Course.BRACKETED
    assert peaks[-1].course is Course.APPROACHING
    assert peaks[-1].level == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize("place", [0, 5, 22, 30])
@pytest.mark.parametrize("wild", [5.0, -5.0])
def test_a_lone_wild_reading_is_neither_peak_nor_side(place: int, wild: float) -> None:
    readings = [(t, x + wild if i == place else x) for i, (t, x) in enumerate(swept(-2.0, 0.3))]
    last = find(readings)[-1]
    assert last.course is Course.APPROACHING
    assert last.level == pytest.approx(1.0, abs=0.02)


def test_a_minimum_is_a_maximum_upside_down() -> None:
    readings = swept(-2.0, 2.0, sigma=0.002)
    down = find([(t, -x) for t, x in readings], "minimum")
    for a, b in zip(find(readings), down, strict=True):
        assert (a.course, a.at_end, a.at_s, a.departure) == (b.course, b.at_end, b.at_s, b.departure)
        assert b.level == (None if a.level is None else -a.level)


def test_overload_and_silence_show_nothing_but_end_nothing() -> None:
    readings = swept(-2.0, 2.0)
    detector = Extremum("maximum", lambda _: BRACKET)
    for i, (t, x) in enumerate(readings):
        shown = (None, State.OVERLOAD) if i in (8, 9) else (x, State.OK)
        last = detector.update(t, *shown)
    assert last.course is Course.BRACKETED


def test_the_meters_lag_dates_the_peak_back() -> None:
    plain, lagging = Extremum("maximum", lambda _: BRACKET), Extremum("maximum", lambda _: BRACKET, lag_s=0.5)
    at_s = [feed(d, swept(-2.0, 2.0))[-1][1].at_s for d in (plain, lagging)]
    assert at_s[0] is not None
    assert at_s[1] == pytest.approx(at_s[0] - 0.5)


def test_level_and_uncertainty_are_honest_over_many_noisy_sweeps() -> None:
    """Claimed is a standard uncertainty: about 95 % inside two of it. Sweeps drawn with a fixed seed."""
    draw, inside, total = random.Random(7), 0, 150
    for seed in range(total):
        sweep = swept(-2.0, 2.0 + draw.random(), speed=draw.uniform(0.2, 0.5), sigma=0.004, seed=seed)
        last = find(sweep, count=0.001)[-1]
        assert last.course is Course.BRACKETED
        assert last.level is not None
        assert last.standard_uncertainty is not None
        inside += abs(last.level - 1.0) <= 2.0 * last.standard_uncertainty
    assert inside >= 0.88 * total


def test_its_degrees_of_freedom_are_what_the_spread_of_its_noise_makes_of_them() -> None:
    """JCGM 100:2008, G.4.2: half the inverse square of the relative deviation of u, of 20 000 records."""
    draw, noises = random.Random(11), []
    for _ in range(20_000):
        levels = [draw.gauss() for _ in range(BENDS + 2)]
        noises.append(noise_of(map(bend, levels, levels[1:], levels[2:])))
    assert statistics.mean(noises) == pytest.approx(1.0, abs=0.06)
    spread = statistics.stdev(noises) / statistics.mean(noises)
    assert pytest.approx(0.5 / spread**2, rel=0.05) == DEGREES_PER_BEND * BENDS


def test_the_count_s_share_counts_as_known() -> None:
    """JCGM 100:2008, G.4.1: the degrees are those of the noise over the fourth power of its share."""
    readings = swept(-2.0, 2.0, sigma=0.004)
    noisy, coarse = (find(readings, count=count)[-1] for count in (0.0, 0.01))
    assert noisy.degrees_of_freedom == pytest.approx(DEGREES_PER_BEND * BENDS)
    assert coarse.degrees_of_freedom > 2.0 * noisy.degrees_of_freedom


def test_the_uncertainty_is_never_below_one_count_over_root_twelve() -> None:
    last = find(swept(-2.0, 2.0), count=0.01)[-1]
    assert last.standard_uncertainty is not None
    assert last.standard_uncertainty >= 0.01 / math.sqrt(12)


def lies_high(levels: list[float], place: int) -> bool:
    """Two readings before and two after lie lower by half the bracket; two may differ by the rest."""
    low = levels[place] - BRACKET / 2.0
    return sum(x <= low for x in levels[:place]) >= 2 and sum(x <= low for x in levels[place:]) >= 2


@settings(deadline=None)
@given(st.lists(st.floats(0.0, 1.0), max_size=60))
def test_bracketed_means_two_readings_low_on_either_side(levels: list[float]) -> None:
    for i, peak in enumerate(find([(PERIOD_S * i, x) for i, x in enumerate(levels)])):
        if peak.course is Course.BRACKETED:
            assert any(lies_high(levels[: i + 1], place) for place in range(i))
            return


def test_reset_begins_anew() -> None:
    detector = Extremum("maximum", lambda _: BRACKET)
    feed(detector, swept(-2.0, 2.0))
    detector.reset()
    assert detector.update(1e6, 0.1, State.OK) == Peak(course=Course.WAITING)


def test_an_unknown_kind_is_refused() -> None:
    with pytest.raises(ValueError, match="kind is 'top'"):
        Extremum("top", lambda _: BRACKET)  # type: ignore[arg-type]
