"""Until when a meter stays inside its limits. Lines and their intervals: test_line. Checks are made up."""

import math
import random
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.accuracy.drift import NoDate, Outlook, first_outside, fit_line, outlook
from tests.accuracy.drift.published import column

START = date(2023, 1, 1)
HEAT_FLOW = column("nist_handbook/heat_flow_zarr13.csv", "y")
JOSEPHSON = column("nist_handbook/josephson_soulen.csv", "y")


def monthly(errors: list[float], limit: float = 10.0) -> Outlook:
    dates = [START + timedelta(days=30 * place) for place in range(len(errors))]
    return outlook(dates, errors, -limit, limit)


RISING = [0.1, 0.9, 2.2, 2.8, 4.1, 5.0]
"""About one a month."""


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_meter_that_drifts(sign: float) -> None:
    """The edge by hand: the quadratic equation for the prediction interval's edge, t for 4 degrees 2.776
    (JCGM 100:2008 Table G.2)."""
    found = monthly([sign * one for one in RISING])
    line = fit_line([30.0 * place for place in range(6)], RISING)
    t2s2 = (2.7764451 * line.residual_sd) ** 2
    a = line.slope**2 - t2s2 / line.sxx
    b, c = 2 * line.slope * (line.mean_y - 10.0), (line.mean_y - 10.0) ** 2 - t2s2 * (1 + 1 / 6)
    edge = line.mean_x + (-b - math.sqrt(b * b - 4 * a * c)) / (2 * a)
    assert first_outside(line, -10.0, 10.0, 150.0) == pytest.approx(edge, rel=1e-6)
    assert found.why is None
    assert found.until == START + timedelta(days=math.floor(edge))


def test_the_date_is_the_last_day_inside() -> None:
    found = monthly(RISING)
    assert found.line is not None
    assert found.until is not None
    days = (found.until - START).days
    assert found.line.prediction(days).high <= 10.0 < found.line.prediction(days + 1).high


def test_without_scatter_the_line_itself_decides() -> None:
    """One in 32 a day: 10 is reached, and not yet left, after 320 days. All of it exact in a double."""
    dates = [START + timedelta(days=64 * place) for place in range(4)]
    assert outlook(dates, [0.0, 2.0, 4.0, 6.0], -10.0, 10.0).until == START + timedelta(days=320)


def test_order_of_the_checks_does_not_matter() -> None:
    dates = [START + timedelta(days=30 * place) for place in range(6)]
    pairs = list(zip(dates, RISING, strict=True))
    random.Random(3).shuffle(pairs)
    assert outlook(*zip(*pairs, strict=True), -10.0, 10.0).until == monthly(RISING).until


@pytest.mark.parametrize(
    ("errors", "why"),
    [
        ([], NoDate.TOO_FEW),
        ([0.0, 1.0], NoDate.TOO_FEW),
        ([0.0, 11.0], NoDate.OUTSIDE),
        ([4.0, 6.0, 8.0, 10.5], NoDate.OUTSIDE),
        ([1.0, -1.0, 1.0, -1.0, 1.0], NoDate.NO_SLOPE),
        ([2.0, 2.0, 2.0, 2.0], NoDate.NO_SLOPE),
        ([0.0, 4.5, 4.0, 8.5, 8.4, 9.9], NoDate.WIDE),
        ([0.0, 0.001, 0.002, 0.003], NoDate.FAR),
    ],
)
def test_why_there_is_no_date(errors: list[float], why: NoDate) -> None:
    found = monthly(errors)
    assert (found.until, found.why) == (None, why)


def test_the_newest_check_decides_whether_it_is_outside() -> None:
    """A meter that was outside and comes back in will leave on the other side."""
    found = monthly([12.0, 9.1, 5.8, 3.0])
    assert found.why is None
    assert found.line is not None
    assert found.until is not None
    assert found.line.at((found.until - START).days) < 0.0
    assert outlook([START, START], [0.0, 11.0], -10.0, 10.0).why is NoDate.OUTSIDE, "the later one of a day"


def test_inside_for_the_last_time_today() -> None:
    dates = [START + timedelta(days=64 * place) for place in range(4)]
    assert outlook(dates, [0.0, 2.0, 4.0, 6.0], -6.0, 6.0).until == dates[-1]


def test_many_checks_on_two_days_are_too_few() -> None:
    dates = [START] * 5 + [START + timedelta(days=30)] * 5
    assert outlook(dates, [0.1 * place for place in range(10)], -10.0, 10.0).why is NoDate.TOO_FEW


def test_published_series_as_daily_checks() -> None:
    """NIST/SEMATECH e-Handbook 1.4.2.8 has no slope at 5 % (p = 0.051), 1.4.2.4 has one (t = 4.4). The limits
    are made up."""
    daily = [START + timedelta(days=place) for place in range(700)]
    assert outlook(daily[:195], HEAT_FLOW, 9.0, 9.5).why is NoDate.NO_SLOPE
    drifting = outlook(daily, JOSEPHSON, 2890.0, 2903.0)
    assert drifting.why is None
    assert drifting.until is not None
    assert drifting.until > daily[-1]


def test_how_often_the_date_is_kept() -> None:
    """2000 made-up meters with a true drift: the check on the last day inside lies inside for 97.5 % of those
    with one edge near; scatter 0.3, seed 5."""
    chance, kept, told = random.Random(5), 0, 0
    for _ in range(2000):
        found = monthly([place + chance.gauss(0, 0.3) for place in range(6)])
        if found.until is not None:
            told += 1
            kept += (found.until - START).days / 30 + chance.gauss(0, 0.3) <= 10.0
    assert told > 1900
    assert kept / told == pytest.approx(0.975, abs=0.012)


@given(
    st.lists(st.integers(-5, 5), min_size=4, max_size=12),
    st.sampled_from([0.25, 16.0]),
    st.integers(-100, 100),
)
def test_unit_and_offset_do_not_matter(errors: list[int], factor: float, offset: int) -> None:
    """Checks with a drift of two a month beside made-up scatter; numbers a double holds exactly enough."""
    drifting = [2.0 * place + 0.25 * error for place, error in enumerate(errors)]
    dates = [START + timedelta(days=32 * place) for place in range(len(drifting))]
    plain = outlook(dates, drifting, -50.0, 50.0)
    other = outlook(
        dates, [offset + factor * one for one in drifting], offset - 50 * factor, offset + 50 * factor
    )
    assert other.why is plain.why
    if plain.until is not None:
        assert other.until is not None
        assert abs((other.until - plain.until).days) <= 1
