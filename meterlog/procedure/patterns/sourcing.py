"""Setting the source where the bench may drive it: it is set once, and brought into the window by hand."""

from dataclasses import replace
from enum import StrEnum

from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import ActionKind
from meterlog.procedure.model import SetSource
from meterlog.procedure.patterns.adjusting import Adjusting
from meterlog.procedure.patterns.base import NOTHING, Pattern, Progress
from meterlog.procedure.patterns.delegating import Delegating
from meterlog.procedure.view import Guide, SourceSetting
from meterlog.quantity import Quantity
from meterlog.reading import Reading


class Phase(StrEnum):
    TO_SET = "to set"  # nobody has said anything yet: the bench may drive it, or a hand set it
    ASKED = "asked"  # the bench is setting it
    SAID = "said"  # set, or the bench could not


_NEXT = {
    ActionKind.SOURCE_ASKED: (Phase.TO_SET, Phase.ASKED),
    ActionKind.SOURCE_SET: (Phase.ASKED, Phase.SAID),
    ActionKind.SOURCE_FAILED: (Phase.ASKED, Phase.SAID),
}


class Sourcing(Delegating):
    """A bench without a driven source never asks; then this is `Adjusting` and nothing else."""

    def __init__(self, step: SetSource, level: Quantity, adjusting: Adjusting) -> None:
        self.channel = step.channel
        self.at_hand: Pattern = adjusting
        self._setting = SourceSetting(
            frequency_hz=step.frequency.base if step.frequency else None,
            level_v=level.base,
            purpose=step.title,
        )
        self._in_words = " and ".join(str(one) for one in (step.frequency, level) if one is not None)
        self._anew()

    def _anew(self) -> None:
        self._phase = Phase.TO_SET
        self._fault = ""

    def restart(self) -> None:
        """It is set once more: nobody saw what was done to it meanwhile."""
        self._anew()
        super().restart()

    def reading(self, at_s: float, reading: Reading) -> Progress:
        return NOTHING if self._phase is Phase.ASKED else super().reading(at_s, reading)

    def go_on(self, at_s: float) -> Progress:
        if self._phase is Phase.ASKED:
            raise IllegalAction("the source is being set")
        return super().go_on(at_s)

    def source(self, at_s: float, news: ActionKind, text: str) -> Progress:
        awaited, after = _NEXT[news]
        if self._phase is not awaited:
            raise IllegalAction("no source is to be set now")
        self._phase = after
        self._fault = text if news is ActionKind.SOURCE_FAILED else ""
        self.at_hand.restart()
        return NOTHING

    def passed(self, progress: Progress) -> Progress:
        return progress

    def guide(self) -> Guide:
        guide = super().guide()
        if self._phase is Phase.ASKED:
            return Guide(do_now=f"Setting the source to {self._in_words}.", channel=self.channel)
        setting = self._setting if self._phase is Phase.TO_SET else None
        return replace(guide, source=setting, do_now=f"{self._excuse}{guide.do_now}")

    @property
    def _excuse(self) -> str:
        if not self._fault:
            return ""
        return f"The bench could not set the source: {self._fault}. Set it to {self._in_words} by hand. "
