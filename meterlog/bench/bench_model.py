"""The tables of a bench file, as pydantic checks them. Levels in base units; names are free text."""

from collections.abc import Callable, Sequence
from datetime import date
from typing import Annotated, Self

from pydantic import (
    BeforeValidator,
    Field,
    ValidationInfo,
    field_validator,
    model_validator,
)

from meterlog.bench.drivers import find_driver
from meterlog.bench.errors import BenchError
from meterlog.bench.functions import COUPLED, FUNCTION_UNITS
from meterlog.bench.wires import parse_address
from meterlog.files import Day, Level, Levels, LineTable, Seconds, ShownIn, Table, Truth, Whole
from meterlog.quantity import Quantity, Scale, Unit
from meterlog.reading import Coupling, Settings, Wanted

Name = Annotated[str, Field(min_length=1, max_length=80)]


def _day_as_text(value: object) -> object:
    """A day without quotes is a date to TOML; drivers are given text."""
    return value.isoformat() if isinstance(value, date) else value


OptionValue = Annotated[str | int | float | bool, BeforeValidator(_day_as_text)]


class Head(Table):
    """[bench]. simulate_url: where the simulated bench shows its controls."""

    name: Name
    simulate_url: Annotated[str, Field(pattern=r"^https?://\S+$")] | None = None


class Laboratory(Table):
    """[laboratory]: who does the work, for the head of reports; which channels tell how warm and how humid
    it is there."""

    name: Name | None = None
    address: Annotated[str, Field(max_length=200)] = ""
    temperature_channel: Name | None = None
    humidity_channel: Name | None = None


class _Instrument(Table):
    """What every instrument of a bench file has. `options` are the driver's own keys.

    dialect: a file that describes how this instrument speaks, or a name that the driver knows.
    line: [meter.line], what differs from the line that the driver would open.
    """

    name: Name
    driver: Name
    address: Annotated[str, Field(min_length=1, max_length=300)]
    identity: str = ""
    dialect: str = ""
    line: LineTable = LineTable()
    options: dict[str, OptionValue] = Field(default_factory=dict)

    @field_validator("driver")
    @classmethod
    def _installed(cls, value: str) -> str:
        return _checked(find_driver, value)

    @field_validator("address")
    @classmethod
    def _shaped(cls, value: str) -> str:
        return _checked(parse_address, value)


class MeterEntry(_Instrument):
    """One [[meter]]. specification: a file that says what it can do."""

    serial_number: str = ""
    specification: str = ""
    calibrated: Day | None = None


class SourceEntry(_Instrument):
    """One [[source]], which the daemon sets for the steps that ask for it.

    most     the level, rms, that it is never set or switched on above
    """

    most: Level

    @field_validator("most")
    @classmethod
    def _voltage(cls, value: Quantity) -> Quantity:
        found = _in_unit(value, Unit.VOLT, "2 V")
        assert found is not None
        return found


class Channel(Table):
    """One [[channel]]: one function of one meter. range and ac_filter as quantities, show as a scale.

    lag      the meter's own averaging time on this function, for steps that state none
    display  which display of the meter, where it has several
    profile  a file with the meter's own frequency response; `correct`: take it out of its readings
    """

    name: Name
    meter: Name
    function: str = "voltage"
    coupling: Coupling = Coupling.NONE
    range: Level | None = None
    ac_filter: Level | None = None
    lag: Seconds = 0.0
    display: Annotated[Whole, Field(ge=1, le=9)] = 1
    show: ShownIn | None = None
    profile: Annotated[str, Field(pattern=r"\.toml$")] | None = None
    correct: Truth = False

    @field_validator("function")
    @classmethod
    def _known(cls, value: str) -> str:
        if value not in FUNCTION_UNITS:
            raise ValueError(f"no function {value!r}; functions are {', '.join(FUNCTION_UNITS)}")
        return value

    @field_validator("ac_filter")
    @classmethod
    def _frequency(cls, value: Quantity | None) -> Quantity | None:
        return _in_unit(value, Unit.HERTZ, "20 Hz")

    @field_validator("range")
    @classmethod
    def _fitting_range(cls, value: Quantity | None, info: ValidationInfo) -> Quantity | None:
        unit = FUNCTION_UNITS.get(info.data.get("function", ""))
        return value if unit is None else _in_unit(value, unit, f"10 {unit}")

    @field_validator("show")
    @classmethod
    def _fitting_scale(cls, value: Scale | None, info: ValidationInfo) -> Scale | None:
        unit = FUNCTION_UNITS.get(info.data.get("function", ""))
        if value is None or unit in (None, value.unit):
            return value
        raise ValueError(f"{value.symbol} does not show {unit}, which {info.data['function']} is in")

    @model_validator(mode="after")
    def _coupled(self) -> Self:
        if self.function in COUPLED and self.coupling is Coupling.NONE:
            raise ValueError(
                f"coupling is missing; write dc, ac or acdc: what {self.function} means hangs on it"
            )
        if self.function not in COUPLED and self.coupling is not Coupling.NONE:
            raise ValueError(f"coupling means nothing for {self.function}; remove it")
        if self.correct and self.profile is None:
            raise ValueError("correct by what? Name the meter's own frequency response as `profile`")
        return self

    @property
    def unit(self) -> Unit:
        """The base unit of the channel's readings."""
        return FUNCTION_UNITS[self.function]


def settings_of(entry: MeterEntry, channels: Sequence[Channel]) -> Settings:
    """What the driver of a meter is asked for by its channels (one or more, by display), in base units.

    The identity goes to the driver too, so that it does not set up an instrument that is another's.
    """
    main, *others = channels
    identity = {"identity": entry.identity} if entry.identity else {}
    return Settings(
        function=main.function,
        coupling=main.coupling,
        range_max=None if main.range is None else main.range.base,
        ac_filter_hz=None if main.ac_filter is None else main.ac_filter.base,
        second=Wanted(others[0].function, others[0].coupling) if others else None,
        dialect=entry.dialect,
        options=entry.options | identity,
        displays=tuple(channel.display for channel in channels),
    )


class BenchTables(Table):
    """The whole file."""

    head: Annotated[Head, Field(alias="bench")]
    levels: Levels = Levels()
    laboratory: Laboratory = Laboratory()
    meters: Annotated[list[MeterEntry], Field(alias="meter", min_length=1)]
    channels: Annotated[list[Channel], Field(alias="channel", min_length=1)]
    sources: Annotated[list[SourceEntry], Field(alias="source", max_length=1)] = Field(default_factory=list)


def _in_unit(value: Quantity | None, unit: Unit, example: str) -> Quantity | None:
    if value is None or (value.scale.unit is unit and value.base > 0.0):
        return value
    raise ValueError(f"{value} does not fit; write a value above 0 such as {example}")


def _checked(check: Callable[[str], object], value: str) -> str:
    try:
        check(value)
    except BenchError as error:
        raise ValueError(str(error)) from error
    return value
