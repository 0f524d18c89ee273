"""A back-off that goes over its beginning once more: what has moved meanwhile is set again."""

from collections.abc import Callable
from dataclasses import replace

from meterlog.accuracy import Verdict
from meterlog.procedure.events import Role
from meterlog.procedure.patterns.base import Capture, Pattern, Progress
from meterlog.procedure.patterns.delegating import Delegating
from meterlog.procedure.view import Guide
from meterlog.quantity import Span

MOST_ROUNDS = 5


class Revisiting(Delegating):
    """Ends when two rounds in a row found the same level to back off from, within `within`.

    The trimmer's own warming and a level that drifts show as a peak that is somewhere else the second time.
    """

    def __init__(self, fresh: Callable[[], Pattern], within: Span, beginning: str) -> None:
        """`beginning`: in words what is revisited, "maximum" or the end stop."""
        self._fresh, self._within, self._beginning = fresh, within, beginning
        self.restart()
        self.channel = self.at_hand.channel

    def restart(self) -> None:
        """A round that nobody saw the end of proves nothing."""
        self._round = 1
        self._before: float | None = None
        self.at_hand = self._fresh()

    def passed(self, progress: Progress) -> Progress:
        captures = tuple(replace(capture, round=self._round) for capture in progress.captures)
        before, self._before = self._before, _beginning_level(captures)
        moved = None if before is None else self._within.deviation(self._before, before)
        if moved is not None and self._within.contains(self._before, before or 0.0):
            said = f"the {self._beginning} came back within {abs(moved):.2g} {self._within.shown_unit}"
            return replace(progress, captures=captures, reason=said)
        if self._round == MOST_ROUNDS:
            said = f"the {self._beginning} moves: by {moved:+.2g} {self._within.shown_unit} in the last round"
            return replace(progress, captures=captures, verdict=Verdict.FAIL, reason=said)
        self._round += 1
        self.at_hand = self._fresh()
        return Progress(progress.motion, captures)

    def guide(self) -> Guide:
        guide = replace(self.at_hand.guide(), round=self._round)
        if self._round == 1:
            return guide
        return replace(guide, do_now=f"Once more over the {self._beginning}. {guide.do_now}")


def _beginning_level(captures: tuple[Capture, ...]) -> float:
    (peak,) = [capture for capture in captures if capture.role is Role.PEAK]
    assert peak.settlement.value is not None
    return peak.settlement.value
