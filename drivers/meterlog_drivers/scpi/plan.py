"""From the bench file's settings to what a SCPI meter is told, checked before a byte is sent."""

from collections.abc import Mapping
from dataclasses import dataclass

from meterlog.reading import Coupling, Settings
from meterlog_drivers.scpi.answers import POSITIVE_INFINITY
from meterlog_drivers.scpi.dialect import (
    FINE_INTEGRATION_S,
    FORMATS,
    FUNCTIONS,
    LOWEST_FILTER_HZ,
    TERMINATORS,
    USUAL_FILTER_HZ,
    Format,
    Function,
    settling_s,
)

MOST_SAMPLES = 1000

OptionValue = str | int | float | bool


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything a connection needs to know; hertz, base units, seconds."""

    function: Function
    range_max: float | None = None
    resolution: float | None = None
    ac_filter_hz: float | None = None
    samples: int = 1
    format: Format = FORMATS["ascii"]
    overload: float = POSITIVE_INFINITY
    terminator: bytes = b"\n"
    remote: bool = False
    identity: str = ""

    @property
    def configure(self) -> str:
        """The CONF command; it puts range, resolution, filter, samples and trigger to known values."""
        numbers = [f"{n:G}" for n in (self.range_max, self.resolution) if n is not None]
        return f"CONF:{self.function.header} {','.join(numbers)}".strip()

    @property
    def reading_s(self) -> float:
        """How long one reading may take: the AC filter's delay and the integration."""
        integration_s = self.function.integration_s if self.resolution is None else FINE_INTEGRATION_S
        if self.function.coupling is not Coupling.AC:
            return integration_s
        return integration_s + settling_s(self.ac_filter_hz or USUAL_FILTER_HZ)


def plan_of(settings: Settings) -> Plan:
    """ValueError: what the settings ask for cannot be, and what could."""
    options = _known(settings.options)
    resolution = _positive(options, "resolution")
    if resolution is not None and settings.range_max is None:
        raise ValueError("the option resolution needs a range in the channel")
    function = _function(settings)
    return Plan(
        function=function,
        range_max=settings.range_max,
        resolution=resolution,
        ac_filter_hz=_filter_hz(settings.ac_filter_hz, function),
        samples=_samples(options.get("samples", 1)),
        format=FORMATS[_choice(options, "format", FORMATS, "ascii")],
        overload=_positive(options, "overload") or POSITIVE_INFINITY,
        terminator=TERMINATORS[_choice(options, "terminator", TERMINATORS, "lf")],
        remote=_truth(options.get("remote", False)),
        identity=str(options.get("identity", "")),
    )


OPTIONS = ("format", "identity", "overload", "remote", "resolution", "samples", "terminator")


def _known(options: Mapping[str, OptionValue]) -> Mapping[str, OptionValue]:
    unknown = sorted(set(options) - set(OPTIONS))
    if unknown:
        raise ValueError(f"no option {', '.join(unknown)}; the scpi driver knows {', '.join(OPTIONS)}")
    return options


def _function(settings: Settings) -> Function:
    """SCPI-1999 takes VOLTage and CURRent alone as :DC."""
    coupling = settings.coupling
    if coupling is Coupling.NONE and settings.function in ("voltage", "current"):
        coupling = Coupling.DC
    for function in FUNCTIONS:
        if (function.name, function.coupling) == (settings.function, coupling):
            return function
    possible = ", ".join(f"{f.name} {f.coupling}".strip() for f in FUNCTIONS)
    raise ValueError(f'no function "{settings.function} {coupling}"; possible are {possible}')


def _filter_hz(wanted_hz: float | None, function: Function) -> float | None:
    if wanted_hz is None:
        return None
    if function.coupling is not Coupling.AC:
        raise ValueError(f"an ac_filter means nothing for {function.header}: remove it or choose coupling ac")
    if not wanted_hz >= LOWEST_FILTER_HZ:
        raise ValueError(f"an ac_filter of {wanted_hz:g} Hz: meters start at {LOWEST_FILTER_HZ:g} Hz")
    return wanted_hz


def _samples(value: OptionValue) -> int:
    if not isinstance(value, int) or not 1 <= value <= MOST_SAMPLES:
        raise ValueError(
            f"the option samples is {value!r}; a whole number from 1 to {MOST_SAMPLES} is wanted"
        )
    return int(value)


def _positive(options: Mapping[str, OptionValue], key: str) -> float | None:
    value = options.get(key)
    if value is None:
        return None
    if isinstance(value, (str, bool)) or not value > 0:
        raise ValueError(f"the option {key} is {value!r}; a number above 0, in the base unit, is wanted")
    return float(value)


def _choice(options: Mapping[str, OptionValue], key: str, choices: Mapping[str, object], usual: str) -> str:
    value = str(options.get(key, usual)).lower()
    if value not in choices:
        raise ValueError(f'the option {key} is "{value}"; possible are {", ".join(choices)}')
    return value


def _truth(value: OptionValue) -> bool:
    if value is True or value is False:
        return value
    raise ValueError(f"the option remote is {value!r}; true or false is wanted")
