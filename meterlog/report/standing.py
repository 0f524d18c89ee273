"""Which captured values count in the end, and how each planned step stands.

Nothing is overwritten in the record, so this is decided here: the last attempt at a place of the plan
counts, if it was brought to an end and not opened again since.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from meterlog.accuracy import Verdict
from meterlog.procedure import (
    Acted,
    ActionKind,
    Ending,
    GuardTripped,
    PlannedStep,
    Role,
    SettledValue,
    StepEnded,
    reopened_by,
)


class Standing(StrEnum):
    """What a report says of a step or of a pass over all steps; only PASS is a pass without a condition."""

    PASS = "pass"
    CONDITIONAL_PASS = "conditional pass"
    CONDITIONAL_FAIL = "conditional fail"
    FAIL = "fail"
    NOT_JUDGED = "not judged"
    DONE = "done"
    NOT_DONE = "not done"
    SKIPPED = "skipped"
    INCOMPLETE = "incomplete"
    NONE = ""


STANDING_OF = {verdict: Standing(str(verdict)) for verdict in Verdict}


@dataclass(frozen=True, slots=True)
class Redo:
    """A step opened again: its place in the plan, when, and why."""

    place: int
    at_ns: int
    reason: str


@dataclass(frozen=True, slots=True)
class Course:
    """How a session went, as its record tells it."""

    values: Sequence[SettledValue]
    endings: Sequence[StepEnded]
    actions: Sequence[Acted]
    trips: Sequence[GuardTripped] = ()
    plan: Sequence[PlannedStep] = ()

    def ending(self, place: int) -> StepEnded | None:
        """The ending that stands at this place; None for a step not reached, open or opened again."""
        last = max((e for e in self.endings if e.place == place), key=lambda e: e.at_ns, default=None)
        return None if last is None or self._redo_after(place, last.at_ns) else last

    def standing(self, place: int) -> Standing:
        ending = self.ending(place)
        if ending is None:
            return Standing.NOT_DONE
        left = ending.ending is Ending.SKIPPED and not ending.verdict.is_failure
        return Standing.SKIPPED if left else STANDING_OF[ending.verdict]

    def counting(self, place: int) -> list[SettledValue]:
        """The values of the attempt that stands at this place, in order of capture; none if none stands."""
        ending = self.ending(place)
        if ending is None or ending.ending is Ending.SKIPPED:
            return []
        run, attempt = range(ending.began_ns, ending.at_ns + 1), ending.attempt
        return [v for v in self.values if v.place == place and v.attempt == attempt and v.at_ns in run]

    def redo_of(self, value: SettledValue) -> Redo | None:
        """The redo that took this value out of the result, if one did."""
        return self._redo_after(value.place, value.at_ns)

    def successor(self, value: SettledValue) -> SettledValue | None:
        """The value that stands in for this one."""
        return next((other for other in self.values if other.replaces == value.number), None)

    def redos(self) -> list[Redo]:
        actions = [action for action in self.actions if action.kind is ActionKind.REDO]
        return [Redo(self._place_of(action), action.at_ns, action.text) for action in actions]

    def _redo_after(self, place: int, at_ns: int) -> Redo | None:
        later = (redo for redo in self.redos() if redo.at_ns >= at_ns)
        return next((redo for redo in later if place in self._opened_again(redo.place)), None)

    def _opened_again(self, place: int) -> frozenset[int]:
        """What a redo of this place takes out of the result with it."""
        stale = reopened_by(self.plan, place) if place < len(self.plan) else frozenset()
        return stale | {place}

    def _place_of(self, redo: Acted) -> int:
        """Where a redo without a place went: what came out next shows it, or else what came out last."""
        if redo.place is not None:
            return redo.place
        captured = [(value.at_ns, value.place) for value in self.values]
        outcomes = sorted(captured + [(ending.at_ns, ending.place) for ending in self.endings])
        later = [place for at_ns, place in outcomes if at_ns > redo.at_ns]
        earlier = [place for at_ns, place in outcomes if at_ns <= redo.at_ns]
        return (later[:1] or earlier[-1:] or [0])[0]


class Line(StrEnum):
    """What a row of the report is about within its step."""

    LEVEL = ""
    PEAK = "peak"
    LIT = "lit"
    UNLIT = "unlit"
    DERIVED = "derived"


_LINES = {
    Role.PEAK: Line.PEAK,
    Role.LIT: Line.LIT,
    Role.UNLIT: Line.UNLIT,
    Role.DERIVED: Line.DERIVED,
}


def line_of(value: SettledValue) -> Line:
    return _LINES.get(value.role, Line.LEVEL)


def latest(values: Sequence[SettledValue], condition: str, line: Line) -> SettledValue | None:
    """Of several rounds the last one is the result."""
    fitting = [v for v in values if v.condition == condition and line_of(v) is line]
    return fitting[-1] if fitting else None
