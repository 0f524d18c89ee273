"""The scoring, on trials made by hand and with methods known to be good or bad."""

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from meterlog.detect import Reason
from tests.trials.settling.kinds import KINDS, NEVER
from tests.trials.settling.ours import Ours
from tests.trials.settling.run import BAD, BOUND, ByKind, draws, judge, total
from tests.trials.settling.score import Tally, try_on
from tests.trials.settling.trial import Claim, Plateau, Task, Trial
from tests.trials.shown import Shown

TASK = Task(tolerance=1.0, dwell_s=1.0, period_s=0.5)
STANDS = Plateau(begins_s=10.0, settled_s=12.0, ends_s=22.0, level=5.0)


@dataclass
class Scripted:
    """Claims what a function of time says."""

    says: Callable[[float], Claim | None]
    reason: Reason | None = Reason.DRIFTING

    def update(self, shown: Shown) -> Claim | None:
        return self.says(shown.time_s)


def trial(
    plateaus: tuple[Plateau, ...] = (STANDS,), reason: Reason | None = None, end_s: float = 30.0
) -> Trial:
    """At 5 from 10 s to 22 s, at 50 after that."""
    shown = tuple(Shown(k * 0.5, 5.0) for k in range(int(end_s * 2.0) + 1))
    tends_to: Callable[[float], float | None] = lambda t: 5.0 if t <= 22.0 else 50.0  # noqa: E731
    if reason is not None:
        return Trial("made", 0, TASK, shown, lambda _: 5.0, reason=reason)
    return Trial("made", 0, TASK, shown, lambda _: 5.0, plateaus, tends_to=tends_to)


def claim_from(start_s: float, end_s: float, value: float, u: float | None = None) -> Scripted:
    return Scripted(lambda t: Claim(value, u) if start_s <= t <= end_s else None)


def test_a_right_claim_is_found_with_its_delay() -> None:
    tally = try_on(claim_from(15.0, 21.0, 5.9), trial())
    assert (tally.units, tally.false, tally.plateaus, tally.missed) == (1, 0, 1, 0)
    assert tally.delays_s == [3.0]
    assert tally.lost_share == pytest.approx(0.3)


def test_a_claim_ahead_of_the_settling_has_no_delay() -> None:
    assert try_on(claim_from(11.0, 21.0, 5.0), trial()).delays_s == [0.0]


def test_a_wrong_claim_is_false_and_misses() -> None:
    tally = try_on(claim_from(15.0, 21.0, 6.1), trial())
    assert (tally.false, tally.missed, tally.lost_share) == (1, 1, 1.0)


def test_one_unit_has_no_more_than_one_false_capture() -> None:
    blinking = Scripted(lambda t: Claim(9.0) if 13.0 < t < 21.0 and t % 1.0 == 0.0 else None)
    assert try_on(blinking, trial()).false == 1


def test_a_claim_that_slides_away_is_captured_anew() -> None:
    sliding = Scripted(lambda t: Claim(5.0 + max(0.0, t - 14.0)) if 13.0 <= t <= 21.0 else None)
    tally = try_on(sliding, trial())
    assert (tally.false, tally.missed) == (1, 0)


def test_a_claim_first_wrong_then_right_counts_as_both() -> None:
    improving = Scripted(lambda t: Claim(6.5 if t < 17.0 else 5.8) if 13.0 <= t <= 21.0 else None)
    tally = try_on(improving, trial())
    assert (tally.false, tally.delays_s) == (1, [5.0])


def test_a_claim_after_the_hand_has_left_comes_too_late() -> None:
    assert try_on(claim_from(22.5, 25.0, 5.0), trial()).missed == 1


def test_what_never_settles_counts_one_false_capture_per_stretch() -> None:
    never = trial(reason=Reason.NOISY, end_s=40.0)
    assert try_on(claim_from(1.0, 2.0, 5.0), never).units == 2
    assert try_on(claim_from(1.0, 2.0, 5.0), never).false == 1
    assert try_on(Scripted(lambda t: Claim(5.0) if t % 1.0 == 0.0 else None), never).false == 2


@pytest.mark.parametrize(
    ("given", "expected", "right"),
    [
        (Reason.MOVING, Reason.DRIFTING, 1.0),
        (Reason.NOISY, Reason.NOISY, 1.0),
        (Reason.NO_VALUE, Reason.HELD, 1.0),
        (Reason.DRIFTING, Reason.OSCILLATING, 0.0),
    ],
)
def test_reasons(given: Reason, expected: Reason, right: float) -> None:
    tally = try_on(Scripted(lambda _: None, given), trial(reason=expected))
    assert (tally.asked, tally.explained) == (1, right)


def test_uncertainty_is_held_against_the_error() -> None:
    for u, inside in ((0.5, 1), (0.4, 0)):
        tally = try_on(claim_from(15.0, 21.0, 5.9, u), trial())
        assert (tally.with_u, tally.inside) == (1, inside)


def test_tallies_add_up() -> None:
    whole = Tally()
    for value in (5.0, 9.0):
        whole += try_on(claim_from(15.0, 21.0, value), trial())
    assert (whole.units, whole.false, whole.plateaus, whole.missed) == (2, 1, 2, 1)
    assert whole.lost_share == pytest.approx((0.3 + 1.0) / 2.0)


@pytest.fixture(scope="module")
def judged() -> dict[str, ByKind]:
    return judge([BOUND, *BAD], draws(KINDS, range(700, 703)))


def test_the_clairvoyant_is_never_wrong_and_hardly_late(judged: dict[str, ByKind]) -> None:
    tally = total(judged[BOUND.name])
    assert tally.plateaus > 150
    assert tally.false == 0
    assert tally.missed <= 0.02 * tally.plateaus
    assert tally.lost_share < 0.25


def test_the_bad_ones_are_bad(judged: dict[str, ByKind]) -> None:
    at_once, agree, never = (total(judged[bad.name]) for bad in BAD)
    assert at_once.false_share > 0.8
    assert agree.false_share > 0.5
    assert (never.false_share, never.lost_share) == (0.0, 1.0)


def test_claiming_at_once_is_always_false_where_nothing_settles(judged: dict[str, ByKind]) -> None:
    at_once = judged[BAD[0].name]
    for kind in ("ramp", "hunting", "too_noisy", "few_counts"):
        assert kind in NEVER
        assert at_once[kind].false == at_once[kind].units


def test_the_product_is_fed_as_it_expects() -> None:
    still = try_on(Ours(TASK), trial())
    assert (still.missed, still.false, still.with_u) == (0, 0, 1)
