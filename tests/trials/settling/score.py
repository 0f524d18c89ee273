"""Scoring: what a method claimed in a trial against the truth.

capture     a claim after none, or one whose value has gone more than a tolerance from the one captured
false       a capture further than the tolerance from the level the signal tends to; every one in a trial
            that never settles. No more than one counts per unit of judgement.
unit        a plateau with the way to it, or some 20 s of what never settles
found       the first moment at which a standing claim is right for a plateau, before the hand leaves it
hold lost   (found - settled) / (end - settled), not below 0; 1 for a plateau that is missed
"""

import time
from collections import Counter
from dataclasses import dataclass, field
from typing import NamedTuple, Protocol, runtime_checkable

from meterlog.detect import Reason
from tests.trials.settling.trial import Claim, Method, Plateau, Trial

STRETCH_S = 20.0

RIGHT_REASONS: dict[Reason, frozenset[Reason]] = {
    Reason.DRIFTING: frozenset({Reason.DRIFTING, Reason.MOVING}),
    Reason.HELD: frozenset({Reason.HELD, Reason.NO_VALUE}),  # the bench passes HOLD on as a missing value
}
"""What else is right for a trial; its own reason otherwise."""


@runtime_checkable
class Explains(Protocol):
    """A method that says why it makes no claim."""

    @property
    def reason(self) -> Reason | None: ...


class Found(NamedTuple):
    """A right claim for a plateau."""

    plateau: Plateau
    time_s: float
    claim: Claim

    @property
    def delay_s(self) -> float:
        return max(0.0, self.time_s - self.plateau.settled_s)

    @property
    def hold_lost(self) -> float:
        return self.delay_s / (self.plateau.ends_s - self.plateau.settled_s)

    @property
    def inside_two_u(self) -> bool | None:
        u = self.claim.standard_uncertainty
        return None if u is None else abs(self.claim.value - self.plateau.level) <= 2.0 * u


@dataclass(slots=True)
class Tally:
    """What a method did in some trials; tallies add up."""

    units: int = 0
    false: int = 0
    plateaus: int = 0
    delays_s: list[float] = field(default_factory=list)
    hold_lost: float = 0.0
    inside: int = 0
    with_u: int = 0
    explained: float = 0.0
    asked: int = 0
    readings: int = 0
    seconds: float = 0.0

    def __iadd__(self, other: "Tally") -> "Tally":
        for name in self.__slots__:
            setattr(self, name, getattr(self, name) + getattr(other, name))
        return self

    @property
    def missed(self) -> int:
        return self.plateaus - len(self.delays_s)

    @property
    def false_share(self) -> float:
        return self.false / max(1, self.units)

    @property
    def lost_share(self) -> float:
        """Mean hold lost over the plateaus."""
        return (self.hold_lost + self.missed) / max(1, self.plateaus)


def try_on(method: Method, trial: Trial) -> Tally:
    """Feed a trial to a fresh method and judge it. Only the feeding is timed, by the processor's clock."""
    explains = method if trial.reason is not None and isinstance(method, Explains) else None
    started = time.process_time()
    if explains is None:
        claims, reasons = [method.update(shown) for shown in trial.shown], []
    else:
        said = [(method.update(shown), explains.reason) for shown in trial.shown]
        claims, reasons = [claim for claim, _ in said], [reason for _, reason in said]
    seconds = time.process_time() - started
    watch = _Watch(trial)
    for shown, claim in zip(trial.shown, claims, strict=True):
        watch.take(shown.time_s, claim)
    tally = watch.tally()
    tally.readings, tally.seconds = len(trial.shown), seconds
    if trial.reason is not None and reasons:
        later = Counter(reasons[len(reasons) // 2 :])
        tally.asked, tally.explained = 1, _share_right(trial.reason, later)
    return tally


def _share_right(expected: Reason, given: Counter[Reason | None]) -> float:
    """Of the readings of the latter half."""
    right = RIGHT_REASONS.get(expected, frozenset({expected}))
    return sum(n for reason, n in given.items() if reason in right) / given.total()


class _Watch:
    """Follows the claims through one trial."""

    def __init__(self, trial: Trial) -> None:
        self._trial = trial
        self._captured: float | None = None
        self._false: set[int] = set()
        self._found: dict[int, Found] = {}
        self._at = 0

    def take(self, time_s: float, claim: Claim | None) -> None:
        if claim is None:
            self._captured = None
            return
        tolerance = self._trial.task.tolerance
        plateaus = self._trial.plateaus
        while self._at < len(plateaus) and time_s > plateaus[self._at].ends_s:
            self._at += 1
        if self._captured is None or abs(claim.value - self._captured) > tolerance:
            self._captured = claim.value
            level = self._trial.tends_to(time_s)
            if level is None or abs(claim.value - level) > tolerance:
                self._false.add(self._unit(time_s))
        if self._at < len(plateaus) and self._at not in self._found:
            self._look(plateaus[self._at], time_s, claim)

    def _look(self, plateau: Plateau, time_s: float, claim: Claim) -> None:
        near = abs(claim.value - plateau.level) <= self._trial.task.tolerance
        if near and self._trial.tends_to(time_s) == plateau.level:
            self._found[self._at] = Found(plateau, time_s, claim)

    def _unit(self, time_s: float) -> int:
        if self._trial.plateaus:
            return min(self._at, len(self._trial.plateaus) - 1)
        return int(time_s / self._trial.shown[-1].time_s * units(self._trial) * 0.999999)

    def tally(self) -> Tally:
        found = self._found.values()
        insides = [hit.inside_two_u for hit in found if hit.inside_two_u is not None]
        return Tally(
            units=units(self._trial),
            false=len(self._false),
            plateaus=len(self._trial.plateaus),
            delays_s=[hit.delay_s for hit in found],
            hold_lost=sum(hit.hold_lost for hit in found),
            inside=sum(insides),
            with_u=len(insides),
        )


def units(trial: Trial) -> int:
    """Plateaus, or pieces of about `STRETCH_S` into which what never settles is counted."""
    return len(trial.plateaus) or max(1, round(trial.shown[-1].time_s / STRETCH_S))
