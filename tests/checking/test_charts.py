"""When the charts find a drift, and how often they cry out in vain, against the theory beside this file.

The histories are made up: normal, 20 steady weeks, then a drift of a known rate.
"""

import random

import numpy as np
import pytest
from scipy.stats import kstest

from meterlog.checking.charts import ALLOWANCE, DECISION, WEIGHT, Charts, charts
from tests.checking.theory import cusum_survival, ewma_survival, individuals_survival

STEADY, WEEKS, YEARS = 20, 52, 120


def year(seed: int, per_week: float) -> Charts:
    """Fifty-two checks; a drift of so many standard deviations a week after the first twenty."""
    chance = random.Random(seed)
    errors = [chance.gauss(0.0, 1.0) + per_week * max(0, week - STEADY + 1) for week in range(WEEKS)]
    found = charts(errors)
    assert found is not None
    assert found.baseline == STEADY
    return found


def survival_of(name: str, found: Charts, per_week: float) -> np.ndarray:
    """By theory, with the limits that this chart has, from the 21st week on."""
    means = [per_week * (week + 1) for week in range(WEEKS - STEADY)]
    if name == "individuals":
        return individuals_survival(found.individuals.low[-1], found.individuals.high[-1], means)
    if name == "EWMA":
        low, high, start = found.ewma.low[-1], found.ewma.high[-1], found.ewma.points[STEADY - 1]
        return ewma_survival(low, high, WEIGHT, start, means)
    start = found.cusum.high[STEADY - 1]
    return cusum_survival(ALLOWANCE * found.sd, DECISION * found.sd, found.centre, start, means)


def first_of(name: str, found: Charts) -> int | None:
    """Weeks from the drift's beginning to the first alarm, from 1; None if there is none in the year. Of the
    sums the upper alone, as the theory has it."""
    places = found.alarms[name]
    if name == "CUSUM":
        places = tuple(n for n, high in enumerate(found.cusum.high) if high > found.cusum.decision)
    return next((place - STEADY + 1 for place in places if place >= STEADY), None)


@pytest.mark.parametrize("name", ["individuals", "EWMA", "CUSUM"])
@pytest.mark.parametrize("per_week", [0.15, 0.4])
def test_a_drift_is_found_when_theory_says(name: str, per_week: float) -> None:
    """The probability that theory gives to a find as early as it came is uniform between 0 and 1 (the
    integral transform, made continuous by chance within the week), whatever limits the baseline gave."""
    chance, seen = random.Random(name), []
    for seed in range(YEARS):
        found = year(seed, per_week)
        left = np.concatenate([[1.0], survival_of(name, found, per_week)])
        week = first_of(name, found)
        assert week is not None
        seen.append(1.0 - left[week - 1] + chance.random() * (left[week - 1] - left[week]))
    assert kstest(seen, "uniform").pvalue > 0.01


@pytest.mark.parametrize("name", ["individuals", "EWMA", "CUSUM"])
def test_a_steady_meter_cries_out_no_more_often_than_theory_says(name: str) -> None:
    """Share of steady years with an alarm after the baseline, within three standard deviations of chance."""
    expected, cried = [], 0
    for seed in range(YEARS):
        found = year(seed, 0.0)
        expected.append(1.0 - survival_of(name, found, 0.0)[-1])
        cried += first_of(name, found) is not None
    share = float(np.mean(expected))
    assert cried / YEARS == pytest.approx(share, abs=3.0 * (share * (1.0 - share) / YEARS) ** 0.5)


def test_few_checks_have_no_charts_and_more_have_all_but_the_last_as_their_baseline() -> None:
    errors = [0.1, -0.1] * 20
    assert charts(errors[:8]) is None
    sizes = {n: found.baseline for n in (9, 15, 21, 40) if (found := charts(errors[:n]))}
    assert sizes == {9: 8, 15: 14, 21: 20, 40: 20}
    assert charts(errors[:6], baseline=4) is not None


def test_the_next_digit_of_a_display_that_repeats_itself_is_no_alarm() -> None:
    """Ten times 10.00 V and then 10.01 V: one count of 10 mV; two counts are an alarm. Made up."""
    same = [0.0] * 10
    assert charts([*same, 0.01], 0.01).alarms["individuals"] == ()  # type: ignore[union-attr]
    assert charts([*same, 0.02], 0.01).alarms["individuals"] == (10,)  # type: ignore[union-attr]
    assert charts([*same, 0.01]).alarms["individuals"] == (10,)  # type: ignore[union-attr]
