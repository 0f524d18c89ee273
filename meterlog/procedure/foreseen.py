"""What values will come to and be made of, as far as the file tells, before anything is measured.

A level is what its step asks for, as sure as the meter of its channel; a computed value is made of such
levels by the formula and the appraisal that a session uses, so what its inputs share falls out here too.
"""

import math
from collections.abc import Mapping
from itertools import takewhile
from typing import NamedTuple

from meterlog.accuracy import Deviation, InUse, Shown, Signal, of_bounds
from meterlog.accuracy.appraisal import Appraisal, Observation
from meterlog.accuracy.budget import Budget, Uncertain
from meterlog.accuracy.fitness import Meters, still
from meterlog.procedure.checks.looks import Levels
from meterlog.procedure.formulas import Formula, deviation, difference, first_for, formula_for, quotient
from meterlog.procedure.model import Derived, Manual, Match, Procedure, Step
from meterlog.procedure.model.base import Source, Table
from meterlog.procedure.signals import Read, name_of, reads_of, signal_at, signals_of
from meterlog.quantity import Quantity, Unit


def foreseen(
    channel: str, value: float, signal: Signal, procedure: Procedure, corrected: Deviation | None
) -> Observation:
    """A level that no readings support yet."""
    return Observation(
        channel, value, 0.0, math.inf, signal, procedure.source_ohm(channel), corrected=corrected
    )


def correction_of(meter: InUse | None, value: float, signal: Signal) -> Deviation | None:
    """What the meter's own profile takes out of such a level."""
    range_ = meter.range_for((value,)) if meter else None
    return meter.correction(signal, Shown(range_.full_scale)) if meter and range_ else None


class Foreseen(NamedTuple):
    """One value. channels: those it is read on. unknown: those whose meter nobody has described there.
    supposed: what the file does not tell and is taken for it, in words."""

    value: float
    unit: Unit
    number: Uncertain
    channels: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    supposed: str = ""


class Computed(NamedTuple):
    """What a computed value is made of; the rest as in `Foreseen`."""

    budget: Budget
    channels: tuple[str, ...]
    unknown: tuple[str, ...]
    supposed: str


class Foresight:
    """Of one procedure on one bench. What is read twice by the file is one value here, as in a session."""

    def __init__(self, procedure: Procedure, bench: Meters) -> None:
        self._procedure, self._bench = procedure, bench
        self._appraisal = Appraisal(bench.in_use, bench.conditions)
        self._levels, self._signals = Levels(procedure), signals_of(procedure)
        self._steps: Mapping[str, Step] = {step.id: step for step in procedure.steps}
        self._reads = {_key(read): read for read in reads_of(procedure)}
        self._known: dict[tuple[str, str], Foreseen | None] = {}

    def computed(self, step: Derived | Match) -> Computed | None:
        """None where the file does not tell what it will be made of."""
        found = self._derived(step) if isinstance(step, Derived) else self._matched(step)
        if found is None:
            return None
        return Computed(self._appraisal.budget(found.number), found.channels, found.unknown, found.supposed)

    def _of(self, source: Source) -> Foreseen | None:
        """What an earlier step will come to; as in a session, one value however often it is asked for."""
        key = source.step, source.condition
        if key not in self._known:
            self._known[key] = self._made(*key)
        return self._known[key]

    def _made(self, name: str, condition: str) -> Foreseen | None:
        step, read = self._steps[name], self._reads.get((name, condition))
        if isinstance(step, Derived):
            return self._derived(step)
        if isinstance(step, Manual):
            known = step.target is not None
            return self._stated(step.aim, step.uncertainty.half_width(step.aim.base)) if known else None
        level = self._levels.level(step, read.part) if read else None
        return self._read(read.channel, level.base, read.signal) if read and level and read.channel else None

    def _stated(self, value: Quantity, half_width: float) -> Foreseen:
        number = self._appraisal.stated(value.base, of_bounds(half_width))
        return Foreseen(value.base, value.scale.unit, number)

    def _read(self, channel: str, value: float, signal: Signal) -> Foreseen:
        meter = self._bench.in_use.get(channel)
        corrected = correction_of(meter, value, signal)
        seen = foreseen(channel, value, signal, self._procedure, corrected)
        seen = still(seen, meter.range_for((seen.indicated,)) if meter else None)
        unknown = () if self._appraisal.is_known(seen) else (channel,)
        unit = self._procedure.channel(channel).unit
        return Foreseen(value, unit, self._appraisal.observed(seen), (channel,), unknown)

    def _derived(self, step: Derived) -> Foreseen | None:
        other = self._second(step)
        if other is None:
            return None
        octave = step.volts_per_octave
        formula = formula_for(step.kind, other.unit, octave.base if octave else None)
        one = (step.of and self._of(step.of)) or self._first(step, formula, other)
        return one and self._result(formula, one, other, step.unit)

    def _second(self, step: Derived) -> Foreseen | None:
        if step.against is not None:
            return self._of(step.against)
        if step.nominal is not None:
            return self._stated(step.nominal, 0.0)
        assert step.resistor is not None
        assert step.resistor_tolerance is not None
        return self._stated(step.resistor, step.resistor_tolerance.half_width(step.resistor.base))

    def _first(self, step: Derived, formula: Formula, other: Foreseen) -> Foreseen | None:
        """Of a level that the file does not state: the one that gives the result that is wanted."""
        level = first_for(formula, step.aim.base, other.value) if step.target is not None else None
        source = self._steps[step.of.step] if step.of else step
        if level is None or (isinstance(source, Derived) and source is not step):
            return None
        if isinstance(source, Manual):
            return self._stated(Quantity(level, source.show), source.uncertainty.half_width(level))
        read = self._reads.get((source.id, step.of.condition if step.of else ""))
        return self._read(read.channel, level, read.signal) if read and read.channel else None

    def _matched(self, step: Match) -> Foreseen | None:
        """The side that moves, brought to the level of the other: of the step that gives it, or at which its
        channel was looked at last."""
        stays = self._of(step.against) if step.against else self._stays(step)
        if stays is None:
            return None
        moves = self._read(step.moving.channel, stays.value, signal_at(self._signals, step.id, step.move))
        formula = {"dB": quotient, "%": deviation}.get(step.tolerance.kind, difference)
        return self._result(formula, moves, stays, step.own_scale.unit)

    def _stays(self, step: Match) -> Foreseen | None:
        assert step.staying is not None
        before = takewhile(lambda read: read.step is not step, self._reads.values())
        last = [read for read in before if read.channel == step.staying.channel][-1:]
        level = self._levels.level(last[0].step, last[0].part) if last else None
        if level is None:
            return None
        signal = signal_at(self._signals, step.id, step.staying.name)
        supposed = f"supposed at {level}, where {last[0].step.id!r} has its channel"
        return self._read(step.staying.channel, level.base, signal)._replace(supposed=supposed)

    def _result(self, formula: Formula, one: Foreseen, other: Foreseen, unit: Unit) -> Foreseen | None:
        try:
            value, *sensitivities = formula(one.value, other.value)
        except (ArithmeticError, ValueError):
            return None
        shares = zip((one.number, other.number), sensitivities, strict=True)
        number = self._appraisal.computed(value, shares)
        channels = tuple(dict.fromkeys((*one.channels, *other.channels)))
        unknown = tuple(dict.fromkeys((*one.unknown, *other.unknown)))
        return Foreseen(value, unit, number, channels, unknown, other.supposed)


def _key(read: Read) -> tuple[str, str]:
    part: Table = read.part
    return read.step.id, "" if part is read.step else name_of(part)
