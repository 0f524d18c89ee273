"""The gate before a dangerous part."""

from collections.abc import Sequence

from meterlog.procedure.model import Safety
from meterlog.procedure.patterns.base import NOTHING, Pattern, Progress
from meterlog.procedure.patterns.making import Moment, pattern_for
from meterlog.procedure.view import Cue, Guide, Sound


@pattern_for.register
def _(step: Safety, _moment: Moment) -> Pattern:
    return Cautions(step.confirm)


class Cautions(Pattern):
    """One caution after the other, each with a press of its own."""

    def __init__(self, cautions: Sequence[str]) -> None:
        self._cautions = cautions
        self.restart()

    def restart(self) -> None:
        """All of them again: after a break another person may stand there."""
        self._confirmed = 0

    def go_on(self, at_s: float) -> Progress:
        self._confirmed += 1
        if self._confirmed < len(self._cautions):
            return NOTHING
        return Progress(finished=True, reason=f"cautions confirmed: {self._confirmed}")

    def guide(self) -> Guide:
        return Guide(
            do_now=f"{self._cautions[self._confirmed]} Press when this is so.",
            awaiting_go_on=True,
            phase=f"caution {self._confirmed + 1} of {len(self._cautions)}",
            progress=self._confirmed / len(self._cautions),
            cue=Cue(Sound.PRESS),
        )
