"""How conditions with one trimmer each disturb each other: learnt from what each was left at and returns at.

Levels are errors in tolerances, so that conditions of different kinds compare. Turning the trimmer of
condition j by one (as seen in j) moves condition i by k(i, j), and k(j, j) is 1. Each return to a condition
gives one equation for its row of k: what it came back at, less what it was left at, is the sum of k times
the moves made since. Rows are estimated by least squares with a wide prior and forgotten slowly, since units
are not linear. For two conditions that is r = (B before re-setting A - B after) / move; for more the same
rows do, where an r for each pair would not: two others have been turned before a condition is seen again.
What is learnt fades slowly in all directions alike, not by a factor: rounds near the end move little and tell
little, and what was known from the first ones would be gone.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

from meterlog.procedure.patterns.matrix import Matrix, Vector, dot, inverse

Limits = tuple[float, float]

_PRIOR = 10.0
"""Standard deviation of k before anything is seen: that it is not hundreds is all that is assumed."""

_NOT_LINEAR = 0.01
"""Share of a change that a unit's curve may take from the straight line, as a standard deviation."""

_DRIFT = 0.01
"""Standard deviation by which k may have become another one when the next equation comes."""

_LEAST_NOISE = 1e-3
"""Of an equation, in tolerances: no hand leaves a trimmer nearer than that."""

_DEPENDENT = 0.03
"""Nearer to 1 than this r says that the trimmers do the same."""

_WORTH = 0.9
"""What an aim-off leaves, as a share of what a plain round does: with more it is not done. This and `_DRIFT`
were chosen on simulated units 1000 to 1399, and judged on others (docs/procedures.md)."""

_ROOM = 0.8
"""Share of a tolerance in which a condition is expected to hold."""


class Interaction(NamedTuple):
    """`r`: the share of a move at one condition that setting the others anew takes back; with its standard
    uncertainty. Plain rounds multiply the error by it."""

    r: float
    uncertainty: float

    @property
    def dependent(self) -> bool:
        """Turning one trimmer undoes the other: no setting of both is in sight."""
        return abs(1.0 - self.r) <= _DEPENDENT and self.uncertainty < 0.1

    @property
    def diverges(self) -> bool:
        """Plain rounds make it worse, as far as can be known."""
        return abs(self.r) - 2.0 * self.uncertainty > 1.0

    @property
    def share(self) -> float:
        """Of the whole aim-off, what leaves the least mean square error for an r that is not sure: left at a,
        an error e comes back as r e + (1 - r) a. 1 where r is sure, 0 where it says too little."""
        if self.dependent or self.r == 0.0 or (self.r > 1.0 and not self.diverges):
            return 0.0
        own, variance = 1.0 - self.r, self.uncertainty**2
        best = own * (self.r * own - variance) / (self.r * (own**2 + variance))
        return min(1.0, max(0.0, best))

    @property
    def usable(self) -> bool:
        """An aim-off by it leaves clearly less than a plain round does."""
        return self._leaves(self.share) < _WORTH * self._leaves(0.0)

    def _leaves(self, share: float) -> float:
        """Root of the mean square error that is left of an error of 1, with this share of the aim-off."""
        kept = self.r * (1.0 - share)
        moved = 1.0 + share * self.r / (1.0 - self.r) if share else 1.0
        return math.hypot(kept, self.uncertainty * moved)


class _Row:
    """One row of k by recursive least squares with forgetting."""

    def __init__(self, count: int) -> None:
        self.effects: Vector = [0.0] * count
        self.learnt = False
        self._covariance: Matrix = [[_PRIOR**2 * (i == j) for j in range(count)] for i in range(count)]

    def learn(self, moves: Vector, change: float, noise: float) -> None:
        """`change`, of this standard deviation, was the sum of k times `moves`."""
        older = [
            [value + _DRIFT**2 * (i == j) for j, value in enumerate(line)]
            for i, line in enumerate(self._covariance)
        ]
        seen = [dot(line, moves) for line in older]
        gain = [value / (dot(seen, moves) + noise**2) for value in seen]
        missed = change - dot(self.effects, moves)
        self.effects = [k + share * missed for k, share in zip(self.effects, gain, strict=True)]
        self._covariance = [
            [value - share * other for value, other in zip(line, seen, strict=True)]
            for line, share in zip(older, gain, strict=True)
        ]
        self.learnt = True

    def variance(self, moves: Vector) -> float:
        """Of what the row makes of these moves."""
        return dot(moves, [dot(line, moves) for line in self._covariance])


class Interplay:
    """What is known of `count` conditions. Every return is told by `came_back`, every leave by `left`."""

    def __init__(self, count: int) -> None:
        self._count = count
        self._rows = [_Row(count) for _ in range(count)]
        self.touched_unseen()

    def touched_unseen(self) -> None:
        """Nobody saw what was done: what was learnt of the unit stays, where the levels are does not."""
        self._levels: list[tuple[float, float] | None] = [None] * self._count
        self._moves: list[Vector] = [[0.0] * self._count for _ in range(self._count)]
        self._doubts: list[Vector] = [[0.0] * self._count for _ in range(self._count)]

    def came_back(self, at: int, level: float, uncertainty: float) -> None:
        """Condition `at` has been set up again; its trimmer has not been turned yet."""
        before = self._levels[at]
        if before is not None and any(self._moves[at]):
            change = level - before[0]
            noise = math.hypot(uncertainty, before[1], _NOT_LINEAR * change, self._doubt(at, change))
            self._rows[at].learn(self._moves[at], change, max(noise, _LEAST_NOISE))
        self._levels[at] = (level, uncertainty)
        self._moves[at], self._doubts[at] = [0.0] * self._count, [0.0] * self._count

    def left(self, at: int, level: float, uncertainty: float) -> None:
        """Its trimmer was turned since it came back, to this level."""
        before = self._levels[at]
        assert before is not None, "it came back first"
        for other in range(self._count):
            if other != at:
                self._moves[other][at] += level - before[0]
                self._doubts[other][at] = math.hypot(self._doubts[other][at], uncertainty, before[1])
        self._levels[at] = (level, uncertainty)

    def _doubt(self, at: int, change: float) -> float:
        """What the moves' own uncertainty makes of the change."""
        return math.hypot(*self._doubts[at]) * abs(change) / math.hypot(*self._moves[at])

    def _effects(self) -> Matrix:
        """k as it is best known; nothing where nothing was seen."""
        return [[1.0 if i == j else k for j, k in enumerate(row.effects)] for i, row in enumerate(self._rows)]

    def effect(self, on: int, of: int) -> float:
        """k(on, of), 0 as long as nothing is known."""
        return self._effects()[on][of]

    def level(self, at: int) -> float | None:
        """What it came back at or was left at last."""
        known = self._levels[at]
        return known[0] if known else None

    def interaction(self, at: int) -> Interaction | None:
        """r of one condition, None as long as a row of k has no equation or k has no inverse.

        1 - r = 1 / (inverse of k)(at, at): for two conditions r = k(A, B) k(B, A). Its uncertainty is that
        of k carried on to first order.
        """
        if not all(row.learnt for row in self._rows):
            return None
        try:
            solved = inverse(self._effects())
            own = 1.0 / solved[at][at]
        except ZeroDivisionError:
            return None
        moved = [own * solved[i][at] for i in range(self._count)]
        felt = [own * value for value in solved[at]]
        variance = sum(
            (share * share) * row.variance([0.0 if i == at_row else m for i, m in enumerate(moved)])
            for at_row, (share, row) in enumerate(zip(felt, self._rows, strict=True))
        )
        return Interaction(1.0 - own, math.sqrt(max(0.0, variance)))

    def aim(self, at: int, limits: Sequence[Limits] | None = None) -> float | None:
        """Where to leave this condition so that the others, set anew, bring it right; None: at its target.

        All conditions are solved for at once. With the others at their targets that is -r e / (1 - r).
        It goes only so far that no condition is expected beyond its `limits` when it is set up.
        """
        interaction, levels = self.interaction(at), self._expected()
        if interaction is None or levels is None or not interaction.usable or self._holds(at, levels):
            return None
        moves = [-dot(line, levels) for line in inverse(self._effects())]
        if abs(moves[at]) <= _ROOM:
            return None
        wanted = (levels[at] + moves[at]) * interaction.share
        allowed = self._allowed(at, levels, wanted, limits or [])
        if abs(interaction.r) * (1.0 - interaction.share * allowed) >= 1.0:
            return None  # so little of it would only drive the levels further away
        return wanted * allowed or None

    def _allowed(self, at: int, levels: Vector, aim: float, limits: Sequence[Limits]) -> float:
        """The share of the aim that keeps every condition inside its limits, where its target does."""
        share = 1.0
        for level, row, (low, high) in zip(levels, self._effects(), limits, strict=False):
            simply, change = level - row[at] * levels[at], row[at] * aim
            if change:
                room = (high if change > 0.0 else low) - simply
                share = min(share, max(0.0, room / change))
        return share

    def _expected(self) -> Vector | None:
        """Where each condition is now, by what it was left at and what was turned since."""
        levels: Vector = []
        for level, row, moves in zip(self._levels, self._effects(), self._moves, strict=True):
            if level is None:
                return None
            levels.append(level[0] + dot(row, moves))
        return levels

    def _holds(self, at: int, levels: Vector) -> bool:
        """Whether simply setting this one would leave the others inside: then nothing needs an aim-off."""
        after = [level - row[at] * levels[at] for level, row in zip(levels, self._effects(), strict=True)]
        return all(abs(level) <= _ROOM for level in after)

    def owes(self, at: int) -> bool:
        """Whether another condition was left outside for this one to bring it right, even if it is inside."""
        levels = self._expected()
        if levels is None or all(abs(level) <= 1.0 for i, level in enumerate(levels) if i != at):
            return False
        interaction = self.interaction(at)
        usable = interaction is not None and interaction.usable
        return usable and (self._holds(at, levels) or self.aim(at) is not None)
