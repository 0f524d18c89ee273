"""How sources differ that all speak SCPI, as data, and what the bench file asks of one."""

from collections.abc import Mapping
from dataclasses import dataclass

from meterlog.reading import Settings
from meterlog_drivers.scpi.dialect import TERMINATORS
from meterlog_drivers.scpi.source_level import HIGH_IMPEDANCE, PER_RMS

AUTO = "auto"
OPTIONS = ("amplitude", "channel", "load", "terminator")
CHANNELS = (1, 2, 3, 4)
_HIGH = "high impedance"


@dataclass(frozen=True, slots=True)
class SourceDialect:
    """node: what stands before FREQ, VOLT and FUNC. together: the command that sets all at once, if any."""

    node: str = "SOUR:"
    together: str = ""


DIALECTS: Mapping[str, SourceDialect] = {
    "": SourceDialect(),
    "apply": SourceDialect("", "{node}APPL:SIN {frequency_hz:.9G},{number:.6G},0"),
}
"""SCPI-1999 volume 2 (SOURce); APPLy is no standard, but five families have it."""


@dataclass(frozen=True, slots=True)
class SourcePlan:
    """amplitude: one of PER_RMS, or AUTO; load_ohm: what the display must count on, None if anything.

    channel: which output, None for an instrument with one (SCPI-1999 volume 1, 6.2.5.2: no suffix means 1)
    """

    amplitude: str
    dialect: SourceDialect = DIALECTS[""]
    load_ohm: float | None = None
    terminator: bytes = b"\n"
    channel: int | None = None

    @property
    def node(self) -> str:
        """What stands before FREQ, VOLT and FUNC."""
        return self.dialect.node if self.channel is None else f"SOUR{self.channel}:"

    @property
    def output(self) -> str:
        return f"OUTP{self.channel or ''}"


def source_plan_of(settings: Settings) -> SourcePlan:
    """ValueError: what the settings ask for cannot be, and what could."""
    options = settings.options
    if unknown := set(options) - set(OPTIONS):
        raise ValueError(f"no option {min(unknown)!r} for a source; there are {', '.join(OPTIONS)}")
    if settings.dialect not in DIALECTS:
        names = ", ".join(name for name in DIALECTS if name)
        raise ValueError(f"no dialect {settings.dialect!r} of a source; there is {names}, or none")
    return SourcePlan(
        _amplitude(str(options.get("amplitude", ""))),
        DIALECTS[settings.dialect],
        _load_ohm(options.get("load")),
        _terminator(str(options.get("terminator", "lf"))),
        _channel(options.get("channel")),
    )


def _amplitude(stated: str) -> str:
    if stated in PER_RMS or stated == AUTO:
        return stated
    raise ValueError(
        f"write the option amplitude, what the number of VOLT counts: {', '.join(PER_RMS)}, "
        "or auto where the source answers VOLT:UNIT?"
    )


def _load_ohm(stated: str | float | bool | None) -> float | None:
    if stated is None:
        return None
    if stated == _HIGH:
        return HIGH_IMPEDANCE
    if isinstance(stated, (str, bool)) or not stated > 0.0:
        raise ValueError(f'the option load is {stated!r}; write a number of ohms, or "{_HIGH}"')
    return float(stated)


def _terminator(stated: str) -> bytes:
    if stated not in TERMINATORS:
        raise ValueError(f"no terminator {stated!r}; there are {', '.join(TERMINATORS)}")
    return TERMINATORS[stated]


def _channel(stated: str | float | bool | None) -> int | None:
    if stated is None:
        return None
    if type(stated) is not int or stated not in CHANNELS:
        raise ValueError(f"the option channel is {stated!r}; write the number of the output: 1, 2, 3 or 4")
    return stated
