"""What every step pattern is: readings and pedal presses in, captures and an end out. No clock, no ports."""

from dataclasses import dataclass

from meterlog.accuracy import Verdict, decide
from meterlog.detect import Motion, Settlement
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import ActionKind, Origin, Role
from meterlog.procedure.formulas import Share
from meterlog.procedure.view import Guide
from meterlog.quantity import Unit
from meterlog.reading import Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class Capture:
    """A settled value as a pattern knows it; the engine adds where and when in the session.

    One that no channel gave has the channel "" and a `unit`; others are in the unit of their channel.
    `again`: it stands in for one that this attempt took before. `about`: the measured value that its limits
    lie about, where they do. `shares`: what it was computed from.
    """

    role: Role
    channel: str
    settlement: Settlement
    unit: Unit | None = None
    target: float | None = None
    low: float | None = None
    high: float | None = None
    condition: str = ""
    round: int = 0
    again: bool = False
    about: Origin | None = None
    shares: tuple[Share, ...] = ()

    @property
    def verdict(self) -> Verdict:
        """By the limits alone."""
        assert self.settlement.value is not None
        return decide(self.settlement.value, self.low, self.high)

    def within(self, guard_band: float) -> bool:
        """Whether it lies so far inside its limits; without any it does not fail."""
        assert self.settlement.value is not None
        return decide(self.settlement.value, self.low, self.high, guard_band) is not Verdict.FAIL


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

    def part(self, channel: str) -> str:
        """The part of the step that a reading of this channel belongs to now; "" for the step itself."""
        return ""

    @property
    def verdict_so_far(self) -> Verdict:
        """FAIL where what was seen already is one, whatever comes."""
        return Verdict.NOT_JUDGED

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

    def source(self, at_s: float, news: ActionKind, text: str) -> Progress:
        """The bench sets the source, has set it (`text`: what it reads back), or could not (why not)."""
        raise IllegalAction("no source is to be set now")

    def redo_row(self, at_s: float, name: str) -> Progress:
        """Take a row again, the last one if it is not named. IllegalAction where there is none."""
        raise IllegalAction("this step has no rows; redo it as a whole")

    def skip_row(self, at_s: float, reason: str) -> Progress:
        """Leave the row at hand out. IllegalAction where there is none."""
        raise IllegalAction("this step has no rows; skip it as a whole")

    def tick(self, at_s: float) -> Progress:
        """Time has come to `at_s`. May finish the step; must otherwise change nothing."""
        return NOTHING

    def restart(self) -> None:
        """After a pause or an interruption: what was seen before is no evidence of what is now."""

    def guide(self) -> Guide:
        """What to do, see and hear now."""
        raise NotImplementedError
