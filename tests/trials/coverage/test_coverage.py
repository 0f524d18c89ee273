"""How often intervals hold the truth in simulated sessions, through engine, detector and budget: a sample of
the table in docs/uncertainty.md, always the same one. What is asked follows from the binomial distribution.
"""

from dataclasses import replace

import pytest

from meterlog.accuracy.coverage import CLAIMED
from tests.trials.coverage.bench import Session
from tests.trials.coverage.cases import CASES, Case, in_volts
from tests.trials.coverage.signals import MIXES, SETTLING, Mix
from tests.trials.coverage.table import Count, count, row
from tests.trials.settling.proportion import clopper_pearson

pytestmark = [pytest.mark.slow, pytest.mark.timeout(600)]

SESSIONS = 250
LEAST, MOST = 0.94, 0.96
CLAIMS = [case for case in CASES if not case.because]


@pytest.fixture(scope="module")
def counts() -> dict[str, Count]:
    return {case.name: count(case.run(seed) for seed in range(SESSIONS)) for case in CASES}


@pytest.mark.parametrize("case", CLAIMS, ids=lambda case: case.name)
def test_no_case_speaks_against_94_to_96_percent(case: Case, counts: dict[str, Count]) -> None:
    """At 99.9 %, for there are a dozen cases: with 250 sessions below 88 or above 99 % would."""
    found = counts[case.name]
    assert found.unsettled <= SESSIONS // 10
    low, high = clopper_pearson(found.held, found.sessions, 0.999)
    assert low <= MOST
    assert high >= LEAST


def test_all_of_them_together_hold_what_is_claimed(counts: dict[str, Count]) -> None:
    """1750 sessions: 0.50 % is one binomial deviation, and three of them are allowed."""
    together = [counts[case.name] for case in CLAIMS]
    held, sessions = sum(one.held for one in together), sum(one.sessions for one in together)
    deviation = (CLAIMED * (1.0 - CLAIMED) / sessions) ** 0.5
    assert sessions > 1700
    assert held / sessions == pytest.approx(CLAIMED, abs=3.0 * deviation)


def test_a_level_that_stands_still_is_held_more_often_as_the_table_says(counts: dict[str, Count]) -> None:
    still = [counts[case.name] for case in CASES if case.because]
    assert sum(one.held for one in still) > MOST * sum(one.sessions for one in still)


@pytest.mark.parametrize("mix", MIXES, ids=lambda mix: mix.name)
def test_no_mix_of_all_signals_speaks_against_94_to_96_percent(mix: Mix) -> None:
    """Ten sessions of each of 26 kinds; at 99.9 %."""
    found = count(mix.run(seed) for seed in range(10 * len(SETTLING)))
    low, high = clopper_pearson(found.held, found.sessions, 0.999)
    assert low <= MOST
    assert high >= LEAST


def test_a_factor_too_small_is_found_out() -> None:
    """The trial can fail: half the interval of a rectangle holds half of what it is to hold."""
    case = CASES[0]
    held = 0
    for seed in range(SESSIONS):
        dice = case.dice(seed)
        points = case.points(dice)
        values = Session(case.procedure, case.meter, dice).values(points)
        assert values is not None
        halved = replace(values[-1], expanded_uncertainty=0.5 * values[-1].expanded_uncertainty)
        held += in_volts([halved], points)
    assert clopper_pearson(held, SESSIONS, 0.999)[1] < 0.6


def test_the_same_seed_is_the_same_session_and_another_another() -> None:
    case = CASES[0]
    assert [case.run(seed) for seed in range(20)] == [case.run(seed) for seed in range(20)]
    assert len({case.points(case.dice(seed))[0].level for seed in range(20)}) == 20


def test_a_row_of_the_table() -> None:
    found = Count(sessions=400, held=380, unsettled=3)
    assert (found.share, round(found.deviation, 4)) == (0.95, 0.0109)
    assert row(CASES[0], found).startswith(f"| {CASES[0].name} | 400 | 3 | 95.00 | 1.09 | 92.4 to 96.9 |")
