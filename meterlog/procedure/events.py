"""What goes into the engine and what comes out of it. Both are kept, so both are plain records.

Times named `at_ns` lie on the session's own time line: monotonic nanoseconds since the session began,
carried on across restarts of the daemon and of the machine, never stepped by a change of the clock.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple, TypeAlias

from meterlog.accuracy import Verdict
from meterlog.accuracy.budget import Line
from meterlog.quantity import Unit
from meterlog.reading import Reading


class ActionKind(StrEnum):
    """What the operator (or, for START, INTERRUPTED, OTHER_BENCH and the source, the daemon) did.

    ENVIRONMENT: either of them.

    OTHER_BENCH: as INTERRUPTED, and the session goes on at another bench. OTHER_METER: another meter than
    before is meant to answer for a channel.
    """

    START = "start"
    GO_ON = "go-on"
    REDO = "redo"
    SKIP = "skip"
    NOTE = "note"
    ENVIRONMENT = "environment"
    REDO_ROW = "redo-row"
    SKIP_ROW = "skip-row"
    SOURCE_ASKED = "source-asked"
    SOURCE_SET = "source-set"
    SOURCE_FAILED = "source-failed"
    ENTER = "enter"
    BREAK_OFF = "break-off"
    INOPERABLE = "inoperable"
    PAUSE = "pause"
    RESUME = "resume"
    SET_ASIDE = "set-aside"
    INTERRUPTED = "interrupted"
    OTHER_BENCH = "other-bench"
    OTHER_METER = "other-meter"

    @classmethod
    def _missing_(cls, value: object) -> "ActionKind | None":
        """By the word that earlier records have for it."""
        return cls.ENVIRONMENT if value == "surroundings" else None


@dataclass(frozen=True, slots=True)
class Measured:
    at_ns: int
    reading: Reading


GUIDED_BY_THE_RULE = "guided by the decision rule"
"""The text of a START: the hand is led to where a value passes. Of sessions begun without it the hand was led
to the limits, and they are replayed so."""


@dataclass(frozen=True, slots=True)
class Acted:
    """`text` is the reason of a redo, a skip, a break-off or of calling the unit inoperable, the note,
    what was typed in, the row to be redone (the last one if ""), what a source said, the temperature
    and humidity (`Environment.text`), the name of the other bench, or which other meter is meant and why.
    `place` is the place in the plan for a redo (None: the step at hand, or the one before it while nothing
    has been captured yet)."""

    at_ns: int
    kind: ActionKind
    text: str = ""
    place: int | None = None


@dataclass(frozen=True, slots=True)
class Ticked:
    """Time goes on without a reading. Moves timers only; kept only if something came out of it."""

    at_ns: int


Event = Measured | Acted | Ticked


class Pass(StrEnum):
    """The runs over the steps: once as found, once with the screwdriver, once as left."""

    AS_FOUND = "as found"
    ADJUST = "adjust"
    AS_LEFT = "as left"


class Role(StrEnum):
    """What a settled value is in its step."""

    MEASURED = "measured"  # the level as it stands, in an as-found, as-left or measuring step
    ADJUSTED = "adjusted"  # after the hand let go, inside the window
    SOURCE = "source"  # the level set at the loaded input: the local 0 dB
    PEAK = "peak"  # the extremum itself
    LIT = "lit"  # the level at which the indicator came on
    UNLIT = "unlit"  # the level at which it went off
    ENTERED = "entered"  # read and typed in by the operator
    DERIVED = "derived"  # computed from other values


class Beside(NamedTuple):
    """Another value of the same attempt at the same step, by what it is kept as."""

    condition: str
    role: Role


Origin: TypeAlias = Beside | int
"""Where in a session a value comes from; a number is that of a settled value."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SettledValue:
    """One captured value with its window and verdict. Values and limits are in the base unit.

    number        1, 2, 3, ... within the session, in the order of capture
    place         index of the step in the plan (a step has a place in each pass)
    condition     which of the conditions of an alternate step, "" elsewhere
    round         1, 2, ... of an alternate or threshold step
    attempt       1, 2, ... counts redos
    replaces      number of the value that this one stands in for after a redo
    since_ns      the oldest reading that supports it; at_ns the moment of capture
    about         number of the value that its limits lie about, where they lie about a measured one; the
                  uncertainty is then that of the value as compared with it
    budget        where its uncertainty comes from, largest first
    correction    the value over what the meter showed, where its own frequency response was taken out
    lower, upper  ends of the interval of a ratio, which reaches further from what is divided by an unsure
                  value; None: as far as the expanded uncertainty to either side
    """

    number: int
    place: int
    step: str
    condition: str
    pass_: Pass
    role: Role
    channel: str
    value: float
    unit: Unit
    standard_uncertainty: float
    degrees_of_freedom: float
    expanded_uncertainty: float
    coverage_factor: float
    readings: int
    since_ns: int
    at_ns: int
    target: float | None
    low: float | None
    high: float | None
    verdict: Verdict
    round: int
    attempt: int
    replaces: int | None
    about: int | None = None
    budget: tuple[Line, ...] = ()
    correction: float | None = None
    lower: float | None = None
    upper: float | None = None


class Ending(StrEnum):
    DONE = "done"
    SKIPPED = "skipped"


@dataclass(frozen=True, slots=True, kw_only=True)
class StepEnded:
    place: int
    step: str
    pass_: Pass
    attempt: int
    ending: Ending
    verdict: Verdict
    began_ns: int
    at_ns: int
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionEnded:
    verdict: Verdict
    at_ns: int


@dataclass(frozen=True, slots=True, kw_only=True)
class GuardTripped:
    """A channel was beyond a limit of the procedure in two readings. `value` is None for an overload."""

    guard: str
    place: int
    step: str
    pass_: Pass
    channel: str
    value: float | None
    limit: float
    at_ns: int


Outcome = SettledValue | StepEnded | GuardTripped | SessionEnded
"""Everything that the record keeps and replay compares."""
