"""Steps about a maximum or a minimum."""

from typing import Annotated, Literal

from pydantic import Field

from meterlog.files import Distance, Seconds, Truth
from meterlog.procedure.events import Pass
from meterlog.procedure.model.base import Extreme, Name, Settling, StepBase, Table
from meterlog.quantity import Span


class _Sought(StepBase, Settling):
    """As found its level is recorded, not judged: without turning nobody knows where its aim lies."""

    channel: Name
    tolerance: Distance
    hold: Seconds = 1.0

    @property
    def settle_within(self) -> Span:
        return self.settle or self.tolerance.scaled(0.5)

    @property
    def passes(self) -> frozenset[Pass]:
        """Not as left: its own last settled value is that, other steps may have moved the level since."""
        return frozenset({Pass.AS_FOUND, Pass.ADJUST})

    @property
    def turns(self) -> bool:
        return True


class Peaked(_Sought):
    """About a maximum or a minimum, seen from both sides.

    `end_stops`: the control has ends. A level that stops rising there and falls on the way back looks like
    an extremum; only the hand feels the difference, so the pedal has to say that it is at none of them.
    """

    extremum: Extreme
    bracket: Distance
    end_stops: Truth = False


class Coarse(Table):
    """The search with a tone that has no side peaks, before the one with the fine tone."""

    setup: Annotated[str, Field(min_length=1)]
    fine_setup: Annotated[str, Field(min_length=1)]
    bracket: Distance
    tolerance: Distance


class Extremum(Peaked):
    """Find the maximum or minimum from both sides, return to it, stay within `tolerance` of it.

    With `coarse` it is found with that tone first and then with the fine one; an extremum of the fine
    one that is worse than the level at which the coarse one left it is a side peak and is not taken.
    """

    pattern: Literal["extremum"]
    coarse: Coarse | None = None


class BackOff(Peaked):
    """Find the extremum, pass it on the stated side, stop `fall` beyond it, within `tolerance`.

    `revisit`: go over the extremum once more afterwards; a level that has moved means another round.
    """

    pattern: Literal["back-off"]
    fall: Distance
    side: Annotated[str, Field(min_length=1)]
    revisit: Truth = False


class StopBackOff(_Sought):
    """From the end stop of a control, where the level is what it is: stop `fall` away from it.

    stop     which end, in the unit's words: "anticlockwise end, bias off"
    change   whether the level falls or rises by so much
    """

    pattern: Literal["back-off-from-stop"]
    stop: Annotated[str, Field(min_length=1)]
    side: Annotated[str, Field(min_length=1)]
    fall: Distance
    change: Literal["falls", "rises"] = "falls"
    revisit: Truth = False

    @property
    def end_stops(self) -> bool:
        """It begins at one: nobody has to be asked."""
        return False

    @property
    def extremum(self) -> Extreme:
        """The level at the stop is the highest, or the lowest, there is."""
        return "maximum" if self.change == "falls" else "minimum"

    @property
    def bracket(self) -> Distance:
        """Half the way proves that the stop was left."""
        return self.fall.scaled(0.5)
