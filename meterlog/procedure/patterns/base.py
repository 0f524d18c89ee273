"""What every step pattern is: readings and pedal presses in, captures and an end out. No clock, no ports."""

from dataclasses import dataclass

from meterlog.accuracy import Verdict, decide
from meterlog.detect import Motion, Settlement
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import Role
from meterlog.procedure.view import Guide
from meterlog.reading import Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class Capture:
    """A settled value as a pattern knows it; the engine adds where and when in the session."""

    role: Role
    channel: str
    settlement: Settlement
    target: float | None = None
    low: float | None = None
    high: float | None = None
    condition: str = ""
    round: int = 0

    @property
    def verdict(self) -> Verdict:
        assert self.settlement.value is not None
        return decide(self.settlement.value, self.low, self.high)


@dataclass(frozen=True, slots=True)
class Progress:
    """What one event brought. `finished` ends the step with `verdict`, for `reason`."""

    motion: Motion | None = None
    captures: tuple[Capture, ...] = ()
    finished: bool = False
    verdict: Verdict = Verdict.NOT_JUDGED
    reason: str = ""


NOTHING = Progress()


class Pattern:
    """One attempt at one step. The engine calls it with times in seconds on the session's time line."""

    channel: str = ""

    @property
    def channels(self) -> frozenset[str]:
        """The channels whose readings it wants now."""
        return frozenset({self.channel}) if self.channel else frozenset()

    def begin(self, at_s: float) -> None:
        """The step begins now; readings dated earlier are no evidence."""

    def reading(self, at_s: float, reading: Reading) -> Progress:
        """A reading of one of `channels`."""
        return NOTHING

    def go_on(self, at_s: float) -> Progress:
        """The pedal, at this time. IllegalAction, changing nothing, where it makes no sense now."""
        raise IllegalAction("this step goes on by itself; to leave it, skip it with a reason")

    def entered(self, at_s: float, text: str) -> Progress:
        """What the operator typed. IllegalAction, changing nothing, for what is not asked for or amiss."""
        raise IllegalAction("this step takes its values from the meter; nothing is to be typed in")

    def tick(self, at_s: float) -> Progress:
        """Time has come to `at_s`. May finish the step; must otherwise change nothing."""
        return NOTHING

    def restart(self) -> None:
        """After a pause or an interruption: what was seen before is no evidence of what is now."""

    def guide(self) -> Guide:
        """What to do, see and hear now."""
        raise NotImplementedError
