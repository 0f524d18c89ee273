"""What the person should see and hear now. Derived from the engine's state, never kept.

Numbers are in the base unit and in the shown scale both, so that a page needs no decibel arithmetic.
"""

from dataclasses import dataclass, field
from enum import StrEnum

from meterlog.accuracy import Verdict
from meterlog.procedure.events import Pass


class StepState(StrEnum):
    WAITING = "waiting"
    MOVING = "moving"
    SETTLING = "settling"
    SETTLED = "settled"
    DONE = "done"
    SKIPPED = "skipped"


class SessionState(StrEnum):
    RUNNING = "running"
    PAUSED = "paused"
    ENDED = "ended"


class Sound(StrEnum):
    """What to sound. TEMPO: `amount` 0..1, nearness to the extremum. PITCH: `amount` -1..1, below or above
    the target, 0 on it, grows with the distance. SLOW_DOWN: the same, and the target is near for the speed.
    INSIDE: let go. ALARM: a guard. The others have no amount."""

    SILENT = "silent"
    TEMPO = "tempo"
    PITCH = "pitch"
    INSIDE = "inside"
    SLOW_DOWN = "slow down"
    PRESS = "press"
    ALARM = "alarm"


@dataclass(frozen=True, slots=True)
class Cue:
    sound: Sound = Sound.SILENT
    amount: float = 0.0


class Direction(StrEnum):
    """Which way the shown level should go."""

    UP = "up"
    DOWN = "down"
    HOLD = "hold"
    NONE = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceSetting:
    """What a source should give. `level_v` None: as it does now. `purpose`: what it is for, in words."""

    frequency_hz: float | None
    level_v: float | None
    purpose: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Guide:
    """The step at hand.

    do_now           one sentence in plain words: what to do now
    awaiting_go_on   the pedal is what it waits for
    channel          the channel to look at, "" if none
    present          level now, base unit: the last readings, as far as they agree
    target, low, high    base unit, None where there is none (yet)
    computed         all levels here are of what the step makes of the channel's, in its own base unit
    direction        which way to go, HOLD where the hand should let go
    accept_low, accept_high    where a level has to lie to pass, where a guard band makes that less
    nothing_left     the guard band is so wide that nothing passes
    distance         signed, how far `present` is from the target in `distance_unit` ("dB", "%", "mV"...)
    progress         0..1 of the dwell, hold or timer that is running; None if none runs
    asks_for         what is to be typed in, "" if nothing is: "reading in VU", "name"
    why_not          why it is not settled, with numbers; "" if it is or nothing is awaited
    source           what a source that the bench can drive is to be set to now; None if nothing is
    """

    do_now: str
    awaiting_go_on: bool = False
    channel: str = ""
    present: float | None = None
    target: float | None = None
    low: float | None = None
    high: float | None = None
    computed: bool = False
    accept_low: float | None = None
    accept_high: float | None = None
    nothing_left: bool = False
    distance: float | None = None
    distance_unit: str = ""
    direction: Direction = Direction.NONE
    progress: float | None = None
    phase: str = ""
    round: int = 0
    asks_for: str = ""
    why_not: str = ""
    cue: Cue = field(default_factory=Cue)
    source: SourceSetting | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Alarm:
    """A guard that sounds. `value` (base unit) is None for an overload; `tripped`: in two readings, and the
    step waits until the level is back and the pedal says so."""

    guard: str
    channel: str
    value: float | None
    limit: float
    text: str
    tripped: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedStepView:
    place: int
    step: str
    title: str
    pattern: str
    pass_: Pass
    state: StepState
    verdict: Verdict
    attempt: int


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """`watching`: the guards that watch in this step, in words."""

    state: SessionState
    place: int
    step: str
    title: str
    pattern: str
    pass_: Pass
    step_state: StepState
    text: str
    caution: str
    guide: Guide
    alarm: Alarm | None = None
    watching: tuple[str, ...] = ()
    plan: tuple[PlannedStepView, ...]
    verdict: Verdict
