"""The product against published methods on the judged seeds, on which nothing was tuned: what is asked of the
figures in docs/detectors.md. Invented signals.
"""

import pytest

from tests.trials.falling.contest import JUDGED_FROM, JUDGED_PER_KIND, trials
from tests.trials.falling.contest import tuned as tuned_falls
from tests.trials.falling.methods.known import KNOWN
from tests.trials.falling.ours import Ours
from tests.trials.falling.score import Outcome, score, told_its_task
from tests.trials.falling.score import judge as judge_fall
from tests.trials.settling import table
from tests.trials.settling.kinds import KINDS
from tests.trials.settling.proportion import clopper_pearson
from tests.trials.settling.published import tuned
from tests.trials.settling.run import OURS, draws, judge, total
from tests.trials.settling.score import Tally

pytestmark = [pytest.mark.slow, pytest.mark.timeout(600)]


@pytest.fixture(scope="module")
def settled() -> dict[str, Tally]:
    """The product and the published method that does best."""
    best = next(entrant for entrant in tuned() if entrant.name == "slope equivalence test")
    seeds = range(table.JUDGED_FROM, table.JUDGED_FROM + table.JUDGED)
    found = judge([OURS, best], draws(KINDS, seeds))
    return {"product": total(found["product"]), "published": total(found[best.name])}


def test_settled_makes_hardly_a_false_capture(settled: dict[str, Tally]) -> None:
    """0.1 % is what is wanted: of 5998 that is six, give or take. With other seeds it was 69 of 69,822."""
    low, high = clopper_pearson(settled["product"].false, settled["product"].units)
    assert low < 0.001
    assert high < 0.003


def test_settled_loses_no_more_than_six_tenths_of_the_hold_that_the_best_loses(
    settled: dict[str, Tally],
) -> None:
    assert settled["product"].lost_share <= 0.6 * settled["published"].lost_share


def test_settled_is_as_sure_as_it_says(settled: dict[str, Tally]) -> None:
    ours = settled["product"]
    assert 0.93 <= ours.inside / ours.with_u <= 0.98
    assert ours.missed < 0.03 * ours.plateaus
    assert ours.explained >= 0.9 * ours.asked


@pytest.fixture(scope="module")
def fallen() -> dict[str, list[Outcome]]:
    """The product and the tuned short line."""
    line = told_its_task(KNOWN["short line"].with_settings(tuned_falls()["short line"]))
    judged = list(trials(range(JUDGED_FROM, JUDGED_FROM + JUDGED_PER_KIND)))
    return {
        "product": [judge_fall(told_its_task(Ours), trial) for trial in judged],
        "line": [judge_fall(line, trial) for trial in judged],
    }


def test_fallen_is_nearer_than_a_short_line(fallen: dict[str, list[Outcome]]) -> None:
    ours, theirs = score(fallen["product"]), score(fallen["line"])
    assert ours.error_mean <= 0.6 * theirs.error_mean
    assert ours.false <= 0.01


def test_fallen_is_late_in_no_more_than_three_of_a_hundred(fallen: dict[str, list[Outcome]]) -> None:
    falls = [outcome for outcome in fallen["product"] if outcome.reached]
    assert sum(outcome.late for outcome in falls) <= 0.03 * len(falls)
