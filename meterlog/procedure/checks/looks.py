"""The parts of a procedure that a meter reads, each with its level, its window and the range it is read on.

The level a part is about is its target, what is expected of the row of a table, or so many dB about the level
of the step or row that it refers to. It is read on the range that the bench file names, else on the finest
range that shows the whole window: the best that a meter which chooses by itself can do.
"""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from meterlog.accuracy import InUse, Range, Signal, Waveform
from meterlog.files import Location
from meterlog.procedure.model import Procedure, Rows, Step, StopBackOff
from meterlog.procedure.model.base import Table
from meterlog.procedure.model.peaks import Peaked
from meterlog.procedure.model.rows import Row
from meterlog.procedure.signals import Read, name_of, reads_of, signal_at, signals_of
from meterlog.quantity import Offset, Quantity, Span, Unit


class About(NamedTuple):
    """What a level is so many dB about: the channels of it, its level where that is known, its signal."""

    channels: tuple[str, ...]
    level: Quantity | None
    signal: Signal


class Look(NamedTuple):
    """One part of a step, the meter that reads it in `unit`, and its level where that is known."""

    place: Location
    step: Step
    part: Table
    channel: str
    meter: InUse
    unit: Unit
    level: Quantity | None
    about: About | None
    tolerance: Span | None
    frequency: Quantity | None
    signal: Signal


def looks(procedure: Procedure, meters: Mapping[str, InUse]) -> Iterator[Look]:
    """Of the channels whose meters are known and measure what is asked."""
    levels = Levels(procedure)
    for read in reads_of(procedure):
        meter = meters.get(read.channel)
        if meter is not None and meter.capability is not None:
            yield Look(
                read.place,
                read.step,
                read.part,
                read.channel,
                meter,
                procedure.channel(read.channel).unit,
                levels.level(read.step, read.part),
                levels.about(read),
                read.tolerance,
                read.frequency,
                read.signal,
            )


class Levels:
    """The levels of a procedure, as far as its file tells."""

    def __init__(self, procedure: Procedure) -> None:
        self._steps: dict[str, Step] = {step.id: step for step in procedure.steps}
        self._signals = signals_of(procedure)

    def level(self, step: Step, part: Table) -> Quantity | None:
        """The level that it is about; None for values that no channel shows."""
        if getattr(part, "own_scale", None) is not None:
            return None
        wanted = _wanted(step, part)
        if not isinstance(wanted, Offset):
            return wanted
        of = self._of(step, part)
        about = self.level(*of) if of else None
        return wanted.about(about.base, about.scale) if about else None

    def about(self, read: Read) -> About | None:
        of = self._of(read.step, read.part)
        if of is None:
            return None
        step, part = of
        channels = (step.channel,) if isinstance(step, Rows) else step.channels
        return About(channels, self.level(step, part), signal_at(self._signals, step.id, _name(step, part)))

    def _of(self, step: Step, part: Table) -> tuple[Step, Table] | None:
        """The step, or the row of its table, that a part is so many dB about."""
        if not isinstance(step, Rows):
            return self._step(getattr(part, "reference", None))
        if not isinstance(part, Row) or not isinstance(_wanted(step, part), Offset):
            return None
        row = next((one for one in step.rows if step.is_reference(one)), None)
        return (step, row) if row else self._step(step.reference)

    def _step(self, name: str | None) -> tuple[Step, Table] | None:
        found = self._steps.get(name or "")
        return (found, found) if found else None


def _wanted(step: Step, part: Table) -> Quantity | Offset | None:
    if isinstance(step, Rows):
        return step.expected_of(part) if isinstance(part, Row) else None
    target = getattr(part, "target", None)
    return target if isinstance(target, Quantity | Offset) else None


def _name(step: Step, part: Table) -> str:
    return "" if part is step else name_of(part)


def range_of(look: Look) -> Range | None:
    """Of a level the range that shows its whole window; else the finest that may be in use."""
    if look.level is None:
        return look.meter.finest
    span, value = look.tolerance, look.level.base
    return look.meter.range_for((span.low(value), span.high(value)) if span else (value,))


def compares(look: Look) -> bool:
    """Whether it is only about levels of one signal on one channel: an extremum, or a way from one level."""
    return isinstance(look.step, Peaked | StopBackOff)


def beyond_profile(look: Look) -> bool:
    """Whether the profile that corrects the meter does not reach the frequency of the signal."""
    profile, frequency = look.meter.profile, look.frequency
    if not look.meter.correct or profile is None or frequency is None:
        return False
    return look.signal.waveform is Waveform.SINE and profile.deviation(frequency.base) is None


def window_of(look: Look) -> float | None:
    """From limit to limit, base unit. Without a level only an absolute tolerance has a width."""
    span = look.tolerance
    absolute = span is not None and span.kind is look.unit and getattr(look.part, "own_scale", None) is None
    if span is None or (look.level is None and not absolute):
        return None
    value = look.level.base if look.level else 0.0
    return span.high(value) - span.low(value)
