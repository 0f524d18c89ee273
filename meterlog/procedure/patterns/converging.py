"""Rounds over several conditions: which is at hand, whether it was clean, whether rounds still help."""

from meterlog.accuracy import Verdict, worst

_PATIENCE = 4
"""Rounds without a better one before it is given up: an aim-off makes the round after it worse on purpose."""

_BETTER = 0.95
"""The worst return of a round must be less than so much of the best one before, to count as better."""


class Rounds:
    """Errors are in tolerances, as each condition came back."""

    def __init__(self, count: int, most: int) -> None:
        self._count, self._most = count, most
        self.number, self.index = 1, 0
        self._errors: list[float] = [0.0] * count
        self._worst: list[float] = []
        self._on_purpose: set[int] = {1}  # rounds that say nothing: the first saw the unit as it came
        self._begin()

    def _begin(self) -> None:
        self.index = 0
        self.clean = True
        self.verdict = Verdict.NOT_JUDGED
        self._verdicts: list[Verdict] = []

    def interrupted(self) -> None:
        """This round proves nothing any more: it begins again with its first condition, uncounted."""
        self._begin()

    def came_back(self, error: float) -> None:
        self._errors[self.index] = error

    def aimed_off(self) -> None:
        """The condition at hand is left beside its target: what comes back in this round and the next is off
        on purpose."""
        self._on_purpose |= {self.number, self.number + 1}

    def taken(self, verdict: Verdict, *, untouched: bool) -> bool:
        """The condition at hand is done; whether it was the last one of the round."""
        self.clean = self.clean and untouched
        self._verdicts.append(verdict)
        self.verdict = worst(self._verdicts)
        self.index += 1
        return self.index == self._count

    @property
    def failed(self) -> bool:
        """Whether a condition of this round has."""
        return Verdict.FAIL in self._verdicts

    def again(self) -> None:
        """Another round."""
        self._worst.append(abs(self.worst_error))
        self.number += 1
        self._begin()

    @property
    def worst_at(self) -> int:
        """The condition that came back farthest off in this round."""
        return self._errors.index(self.worst_error)

    @property
    def worst_error(self) -> float:
        return max(self._errors, key=abs)

    @property
    def grew(self) -> bool:
        """Whether this round came back worse than the one before, and not on purpose."""
        if self.number in self._on_purpose:
            return False
        return abs(self.worst_error) > self._worst[-1]

    @property
    def hopeless(self) -> bool:
        """After a round that was not clean: no more are allowed, or the last ones were no better."""
        if self.number >= self._most:
            return True
        errors = enumerate([*self._worst, abs(self.worst_error)], start=1)
        seen = [error for number, error in errors if number not in self._on_purpose]
        before, last = seen[:-_PATIENCE], seen[-_PATIENCE:]
        return bool(before) and min(last) > _BETTER * min(before)
