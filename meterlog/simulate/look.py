"""What a person at the bench sees and can do. The technician knows nothing beyond this."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

from meterlog.simulate.unit import Value

GO_ON = "go-on"
ADJUST = "adjust"


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One glance at the live view and at the unit.

    at_s             when, on any clock that runs evenly
    step, pattern    the step's id and what kind of step it is
    pass_name        trimmers are turned in ADJUST only; the other passes only look
    phase            where the step stands by its own words: "raise", "trim", ...; "" until it is set up
    volts            what the step's channel shows now; None while it shows no number
    target_volts     where to go; None where the step has no target (yet)
    low_volts, high_volts  the window round it
    let_go           the view says that the level is near enough: tool away
    awaiting_go_on   the view asks for the foot switch
    lamp             the unit's own lamp
    says             what the view says in words
    asks_for         what is to be typed in, "" if nothing is
    wants_source     the view waits for the source to be set, whoever does it
    controls         where the controls stand, as far as an eye sees them
    pointers         what the unit's own scales show
    """

    at_s: float
    step: str
    pattern: str
    pass_name: str = ""
    phase: str = ""
    volts: float | None = None
    target_volts: float | None = None
    low_volts: float | None = None
    high_volts: float | None = None
    let_go: bool = False
    awaiting_go_on: bool = False
    lamp: bool = False
    says: str = ""
    asks_for: str = ""
    wants_source: bool = False
    controls: Mapping[str, Value] = field(default_factory=dict)
    pointers: Mapping[str, float] = field(default_factory=dict)


class Acts(Protocol):
    """What hands and feet reach."""

    def turn(self, trimmer: str, by: float) -> None:
        """Turn a trimmer by a share of its travel."""

    def set(self, control: str, value: Value) -> None:
        """Set a control of the unit or of the oscillator."""

    def press(self, key: str) -> None:
        """Tell the procedure, by foot switch or key: GO_ON."""

    def enter(self, text: str) -> None:
        """Type it in, with both hands free."""
