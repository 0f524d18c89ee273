"""A pattern made of others that follow each other: one of them is at hand, the rest is passed on to it."""

from meterlog.accuracy import Verdict
from meterlog.procedure.patterns.base import Pattern, Progress
from meterlog.procedure.view import Guide
from meterlog.reading import Reading


class Delegating(Pattern):
    """Subclasses set `at_hand` and say in `passed` what the end of a part leads to."""

    at_hand: Pattern

    @property
    def channels(self) -> frozenset[str]:
        return self.at_hand.channels

    def part(self, channel: str) -> str:
        return self.at_hand.part(channel)

    def begin(self, at_s: float) -> None:
        self.at_hand.begin(at_s)

    def restart(self) -> None:
        self.at_hand.restart()

    def reading(self, at_s: float, reading: Reading) -> Progress:
        return self._seen(self.at_hand.reading(at_s, reading))

    def go_on(self, at_s: float) -> Progress:
        return self._seen(self.at_hand.go_on(at_s))

    def tick(self, at_s: float) -> Progress:
        return self._seen(self.at_hand.tick(at_s))

    @property
    def verdict_so_far(self) -> Verdict:
        return self.at_hand.verdict_so_far

    def guide(self) -> Guide:
        return self.at_hand.guide()

    def passed(self, progress: Progress) -> Progress:
        """`progress` has finished the part at hand; give what it means for the whole."""
        raise NotImplementedError

    def _seen(self, progress: Progress) -> Progress:
        return self.passed(progress) if progress.finished else progress
