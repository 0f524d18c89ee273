"""From the bench file's settings and a dialect to what a meter is told, checked before a byte is sent."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from meterlog.quantity import Unit
from meterlog.reading import Coupling, Options, Settings, Wanted
from meterlog_drivers.displays import insist_on_main, refuse_third
from meterlog_drivers.scpi import options as option
from meterlog_drivers.scpi.dialect import TERMINATORS, UNITS, Dialect
from meterlog_drivers.scpi.dialect_tables import AcFilter, Format, Function, Memory

MOST_SAMPLES = 1000
MOST_OF_ONE_START = 1_000_000
LINE_HZ = 50.0
"""Power line: the slower of the two, so that no answer is waited for too short."""
USUAL_SETTLING_S = 1.0
"""The slowest family's wait at the filter that meters begin with, 20 or 30 Hz."""
TRANSFER_S = 0.05
ASCII = Format()


@dataclass(frozen=True, slots=True)
class Display:
    """What one display of the meter shows."""

    function: str
    coupling: Coupling
    unit: Unit


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything a connection needs to know; hertz, base units, seconds.

    displays  the main one, and the second if a channel wants it
    samples   readings of one question, or of one start if the meter has a memory (0: without end)
    memory    of a meter that measures by itself, None where each reading is asked for
    """

    dialect: Dialect
    function: Function
    displays: tuple[Display, ...]
    range_max: float | None = None
    resolution: float | None = None
    ac_filter_hz: float | None = None
    cycles: float | None = None
    samples: int = 1
    memory: Memory | None = None
    interval_s: float | None = None
    format: Format = ASCII
    overload: float = 9.9e37
    remote: bool = False
    second: str = ""

    @property
    def configure(self) -> list[str]:
        """Function, range and resolution; it puts filter, samples and trigger to known values."""
        function, wanted = self.function, {"range": self.range_max, "resolution": self.resolution}
        own = [function.range if self.range_max is not None else ""]
        own += [function.resolution if self.resolution is not None else ""]
        return [filled(command, **wanted) for command in (function.configure, *own) if command]

    @property
    def settle(self) -> list[str]:
        """What follows the AC filter: integration, second display, what each reading carries, format."""
        command = filled(self.dialect.integration.command, header=self.function.header, cycles=self.cycles)
        integration = [command] if self.cycles is not None else []
        second = [self.second] if self.second else []
        timer = self.memory.timer if self.memory and self.interval_s else ()
        timed = [filled(command, interval=self.interval_s) for command in timer]
        return [*integration, *second, *self.dialect.setup, *self.format.commands, *timed]

    def reading_s(self, ac_filter: AcFilter | None = None) -> float:
        """How long one reading may take: the AC filter's delay and the integration, or the meter's timer.

        ac_filter: the one that the meter turned out to have; without it any of the dialect's.
        """
        filters = (ac_filter,) if ac_filter else self.dialect.ac_filter
        own_s = self._integration_s + self._settling_s(filters)
        return max(own_s, self.interval_s or 0.0)

    @property
    def _integration_s(self) -> float:
        if self.cycles is not None:
            return 2.0 * self.cycles / LINE_HZ + TRANSFER_S
        return self.function.integration_s if self.resolution is None else self.dialect.integration.fine_s

    def _settling_s(self, filters: Sequence[AcFilter]) -> float:
        if self.displays[0].coupling is not Coupling.AC:
            return 0.0
        wanted_hz = self.ac_filter_hz
        if wanted_hz is None:
            return USUAL_SETTLING_S
        return max(one.settles_s(wanted_hz) for one in filters if min(one.steps_hz) <= wanted_hz)


def filled(command: str, **values: float | str | None) -> str:
    """Numbers and words put where their names stand; what is None falls out, with the comma before it."""

    def of(match: re.Match[str]) -> str:
        value = values.get(match[1])
        return value if isinstance(value, str) else "" if value is None else f"{value:G}"

    return re.sub(r"\{(\w+)\}", of, command).rstrip(" ,")


def plan_of(settings: Settings, dialect: Dialect) -> Plan:
    """ValueError: what the settings ask for cannot be, and what could."""
    options = settings.options
    option.refuse_unknown(options)
    insist_on_main(settings.displays)
    refuse_third(settings.displays)
    function, display = _function(Wanted(settings.function, settings.coupling), dialect)
    memory = _memory(settings, dialect)
    second, others = _second(settings.second, dialect)
    terminator_of(options, dialect)
    formats = dialect.format
    return Plan(
        dialect=dialect,
        function=function,
        displays=(display, *others),
        range_max=_settable(settings.range_max, "range", function),
        resolution=_resolution(settings, function),
        ac_filter_hz=_filter_hz(settings.ac_filter_hz, display, dialect),
        cycles=_cycles(settings, display, dialect),
        samples=_samples(settings, memory, dialect),
        memory=memory,
        interval_s=_interval_s(settings, memory),
        format=formats[option.choice(options, "format", formats, next(iter(formats)))],
        overload=option.positive(options, "overload") or dialect.overload,
        remote=is_remote(options, dialect),
        second=second,
    )


def terminator_of(options: Options, dialect: Dialect) -> bytes:
    """How lines end that are sent. ValueError as for `plan_of`."""
    return TERMINATORS[option.choice(options, "terminator", TERMINATORS, dialect.terminator)]


def is_remote(options: Options, dialect: Dialect) -> bool:
    """Whether the meter is taken from its front panel at once. ValueError as for `plan_of`."""
    return option.truth(options, "remote", usual=dialect.remote.always)


def _function(wanted: Wanted, dialect: Dialect) -> tuple[Function, Display]:
    """SCPI-1999 takes VOLTage and CURRent alone as :DC."""
    coupling = wanted.coupling
    if coupling is Coupling.NONE and wanted.function in ("voltage", "current"):
        coupling = Coupling.DC
    function = dialect.function.get("-".join(filter(None, (wanted.function, str(coupling)))))
    if function is None:
        possible = ", ".join(key.replace("-", " ") for key in dialect.function)
        raise ValueError(f'no function "{wanted.function} {coupling}"; possible are {possible}')
    return function, Display(wanted.function, coupling, UNITS[wanted.function])


def _second(wanted: Wanted | None, dialect: Dialect) -> tuple[str, tuple[Display, ...]]:
    if wanted is None:
        return "", ()
    if dialect.second is None:
        raise ValueError(f'the dialect "{dialect.name}" knows no second display: one channel for this meter')
    function, display = _function(wanted, dialect)
    if not function.second:
        raise ValueError(f"the second display does not show {wanted.function} {wanted.coupling}")
    return function.second, (display,)


def _settable(value: float | None, what: str, function: Function) -> float | None:
    if value is not None and not function.takes("range" if what == "range" else "resolution"):
        raise ValueError(
            f"the dialect has no command for a {what} of {function.configure}: remove the {what}"
        )
    return value


def _resolution(settings: Settings, function: Function) -> float | None:
    resolution = option.positive(settings.options, "resolution")
    if resolution is not None and settings.range_max is None:
        raise ValueError("the option resolution needs a range in the channel")
    return _settable(resolution, "resolution", function)


def _filter_hz(wanted_hz: float | None, display: Display, dialect: Dialect) -> float | None:
    if wanted_hz is None:
        return None
    if display.coupling is not Coupling.AC:
        shown = f"{display.function} {display.coupling}".strip()
        raise ValueError(f"an ac_filter means nothing for {shown}: remove it or choose coupling ac")
    if not dialect.ac_filter:
        raise ValueError(f'the dialect "{dialect.name}" has no command for an AC filter: remove ac_filter')
    lowest_hz = min(min(one.steps_hz) for one in dialect.ac_filter)
    if not wanted_hz >= lowest_hz:
        raise ValueError(f"an ac_filter of {wanted_hz:g} Hz: meters start at {lowest_hz:g} Hz")
    return wanted_hz


def _cycles(settings: Settings, display: Display, dialect: Dialect) -> float | None:
    cycles, possible = option.positive(settings.options, "cycles"), dialect.integration.cycles
    if cycles is None:
        return None
    if "resolution" in settings.options or display.coupling is Coupling.AC:
        raise ValueError("the option cycles is for functions without AC, and instead of resolution")
    if cycles not in possible:
        choices = ", ".join(f"{one:g}" for one in possible) or "none in this dialect"
        raise ValueError(f"the option cycles is {cycles:g}; possible are {choices}")
    return cycles


def _memory(settings: Settings, dialect: Dialect) -> Memory | None:
    if not option.truth(settings.options, "buffered"):
        return None
    if dialect.memory is None:
        raise ValueError(
            f'the dialect "{dialect.name}" knows no memory of readings: remove the option buffered'
        )
    if settings.second is not None:
        raise ValueError("the memory holds the main display alone: remove the option buffered or a channel")
    return dialect.memory


def _samples(settings: Settings, memory: Memory | None, dialect: Dialect) -> int:
    samples = option.whole(settings.options, "samples", MOST_OF_ONE_START if memory else MOST_SAMPLES)
    if samples is None:
        return memory.count if memory else 1
    if memory and not any("{count}" in command for command in memory.arm):
        raise ValueError(f'with the dialect "{dialect.name}" readings come without end: remove samples')
    if memory is None and samples > 1 and not dialect.asking.samples:
        raise ValueError(f'the dialect "{dialect.name}" gives one reading at a time: remove samples')
    return samples


def _interval_s(settings: Settings, memory: Memory | None) -> float | None:
    interval_s = option.positive(settings.options, "interval")
    if interval_s is not None and not (memory and memory.timer):
        raise ValueError("the option interval needs buffered = true and a dialect that has a timer for it")
    return interval_s
