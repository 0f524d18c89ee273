"""Where each of several conditions is to be left, so that setting the others brings it right: in levels."""

from collections.abc import Sequence

from meterlog.detect import Settlement
from meterlog.procedure.model import Alternate, Condition, Guard
from meterlog.procedure.patterns.interaction import Interaction, Interplay, Limits

_LEAST_FACTOR, _MOST_FACTOR = 0.5, 2.0
"""An aim-off takes no level beyond half or double its target; one about zero no further than this:"""

_MOST_TOLERANCES = 50.0


def limits_of(condition: Condition, guards: Sequence[Guard]) -> Limits:
    """The farthest errors that an aim-off may bring about, in tolerances, a whole one inside of a guard."""
    target, reach = condition.aim.base, condition.tolerance.half_width(condition.aim.base)
    low, high = sorted((target * _LEAST_FACTOR, target * _MOST_FACTOR))
    if target == 0.0:
        low, high = -_MOST_TOLERANCES * reach, _MOST_TOLERANCES * reach
    for guard in guards:
        if guard.channel == condition.channel and guard.never_above is not None:
            high = min(high, guard.never_above.base - reach)
        if guard.channel == condition.channel and guard.never_below is not None:
            low = max(low, guard.never_below.base + reach)
    return (low - target) / reach, (high - target) / reach


class Aims:
    """Learns from what the conditions come back at and are left at; says where to leave each."""

    def __init__(self, step: Alternate, guards: Sequence[Guard]) -> None:
        self.conditions = step.condition
        self._aims_off = step.aim_off
        self._limits = [limits_of(condition, guards) for condition in step.condition]
        self._interplay = Interplay(len(step.condition))

    def touched_unseen(self) -> None:
        self._interplay.touched_unseen()

    def came_back(self, at: int, settlement: Settlement) -> None:
        self._interplay.came_back(at, *self._in_tolerances(at, settlement))

    def left(self, at: int, settlement: Settlement) -> None:
        self._interplay.left(at, *self._in_tolerances(at, settlement))

    def target(self, at: int) -> float:
        """Where the condition has to hold."""
        return self.conditions[at].aim.base

    def looks_only(self, at: int) -> bool:
        """Whether the condition is only looked at now."""
        return False

    def aim(self, at: int) -> float | None:
        """The level to leave it at, None for its target."""
        aim = self._interplay.aim(at, self._limits) if self._aims_off else None
        return None if aim is None else self.conditions[at].aim.base + aim * self._reach(at)

    def owes(self, at: int) -> bool:
        """Whether it has to be turned for the sake of another one, even where it is inside."""
        return self._aims_off and self._interplay.owes(at)

    def interaction(self, at: int) -> Interaction | None:
        return self._interplay.interaction(at)

    def runs_away(self, at: int) -> bool:
        """Whether a round without an aim-off is known to make it worse."""
        found = self.interaction(at)
        return self._aims_off and found is not None and found.diverges

    def purpose(self) -> str:
        """Why a level is to be left beside its target."""
        return "setting the others brings it back"

    def note(self, at: int) -> str:
        """What r says that the person should know; "" as long as rounds do what they should."""
        found = self.interaction(at)
        if found is None:
            return ""
        if found.dependent:
            return f"These conditions are not independent ({r_text(found)}): the trimmers do the same."
        if found.diverges and len(self.conditions) == 2:
            return (
                f"Plain rounds would make it worse ({r_text(found)}); with the two trimmers exchanged"
                f" r would be {1.0 / found.r:.2f}."
            )
        return ""

    def _reach(self, at: int) -> float:
        return self.conditions[at].tolerance.half_width(self.conditions[at].aim.base)

    def _in_tolerances(self, at: int, settlement: Settlement) -> tuple[float, float]:
        assert settlement.value is not None
        assert settlement.standard_uncertainty is not None
        reach = self._reach(at)
        error = settlement.value - self.conditions[at].aim.base
        return error / reach, settlement.standard_uncertainty / reach


class Differences(Aims):
    """First the second condition is set to its difference from the first, which is only looked at; then the
    first once. What is left over is for plain rounds.

    The second one's trimmer may move the first too, by the share c: it has to be moved by the missing
    difference over 1 - c.
    """

    def __init__(self, step: Alternate, guards: Sequence[Guard]) -> None:
        super().__init__(step, guards)
        self._first: float | None = None
        self._fitted = self._fits = False  # found to fit; and the first one set up after it

    def touched_unseen(self) -> None:
        super().touched_unseen()
        self._first = None

    def came_back(self, at: int, settlement: Settlement) -> None:
        super().came_back(at, settlement)
        if at == 0:
            self._first, self._fits = settlement.value, self._fitted
            if not self._may_be_left():
                self._fitted = self._fits = True  # by plain rounds from here on
        elif not self._fits and settlement.value is not None:
            self._fitted = abs(settlement.value - self.target(1)) <= self._reach(1)

    def _may_be_left(self) -> bool:
        """Whether the second one may stand as far from its target as the first one does."""
        assert self._first is not None
        low, high = self._limits[1]
        return low <= (self._first - super().target(0)) / self._reach(1) <= high

    def target(self, at: int) -> float:
        base = super().target(at)
        if self._fits or at == 0 or self._first is None:
            return base
        return base + self._first - super().target(0)

    def looks_only(self, at: int) -> bool:
        return at == 0 and not self._fitted

    def aim(self, at: int) -> float | None:
        if self._fits:
            return super().aim(at)
        share = self._interplay.effect(0, 1) * self._reach(0) / self._reach(1)
        level = self._interplay.level(1)
        if share == 0.0 or level is None or abs(1.0 - share) < 0.1:
            return None
        base, (low, high) = self.conditions[1].aim.base, self._limits[1]
        missing = (self.target(1) - base) / self._reach(1) - level
        return base + min(high, max(low, level + missing / (1.0 - share))) * self._reach(1)

    def owes(self, at: int) -> bool:
        return self._fits and super().owes(at)

    def purpose(self) -> str:
        return super().purpose() if self._fits else "only its difference from the other one counts now"


def r_text(interaction: Interaction) -> str:
    return f"r = {interaction.r:.2f} ± {2.0 * interaction.uncertainty:.2f}"
