"""Checks of the meters themselves: each stored once, with all that it rests on, and never changed."""

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from enum import StrEnum
from typing import Any

from sqlalchemy import Engine, RowMapping, insert, select
from sqlalchemy.exc import DBAPIError

from meterlog.quantity import Unit
from meterlog.reading import Coupling
from meterlog.records.beginning import keep_document
from meterlog.records.engine import explain, for_writing, reading
from meterlog.records.errors import NotStored, RecordsError
from meterlog.records.schema import meter_checks


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterCheck:
    """What a meter showed of a reference, at one point. Values in the base unit of `unit`.

    time_ns                UTC, when the value was taken
    meter ... calibrated   as in `meterlog.records.Instrument`
    full_scale             the range that was in use, None where nobody knows
    reference, reference_serial            who the reference is
    reference_value, _uncertainty, _factor its value, expanded uncertainty, coverage factor as stated
    indicated              what the meter showed, settled
    standard_uncertainty, degrees_of_freedom, expanded_uncertainty   of that: scatter and last digit alone
    resolution             one count of the display, 0.0 where unknown
    allowed                the largest error that counted as inside, None where nobody stated one
    every_days             how often it is meant to be checked at first
    temperature_c, warm_up, operator, remark   as they were told
    """

    time_ns: int
    meter: str
    driver: str
    maker: str = ""
    model: str = ""
    serial_number: str = ""
    text: str = ""
    calibrated: str = ""
    point: str
    function: str
    coupling: Coupling = Coupling.NONE
    unit: Unit
    full_scale: float | None = None
    frequency_hz: float | None = None
    reference: str
    reference_serial: str = ""
    reference_value: float
    reference_uncertainty: float
    reference_factor: float = 2.0
    indicated: float
    standard_uncertainty: float
    degrees_of_freedom: float
    expanded_uncertainty: float
    resolution: float = 0.0
    readings: int
    allowed: float | None = None
    every_days: float
    temperature_c: float | None = None
    warm_up: str = ""
    operator: str = ""
    remark: str = ""
    software: str = ""

    def __post_init__(self) -> None:
        given = {field.name: getattr(self, field.name) for field in fields(self)}
        amiss = [name for name, one in given.items() if isinstance(one, float) and not math.isfinite(one)]
        if amiss:
            raise ValueError(f"check of {self.meter!r}: {', '.join(amiss)} is no finite number")


@dataclass(frozen=True, slots=True, kw_only=True)
class Papers:
    """The texts that a check rests on: its points file, the bench file, and what the meter can do ("")."""

    points: str
    bench: str
    specification: str = ""


def add_meter_check(engine: Engine, check: MeterCheck, papers: Papers) -> None:
    """Return when it is on disk. NotStored: it is not."""
    values = {name: str(one) if isinstance(one, StrEnum) else one for name, one in asdict(check).items()}
    try:
        with for_writing(engine).begin() as connection:
            for kind, text in asdict(papers).items():
                values[f"{kind}_digest"] = keep_document(connection, kind, text) if text else None
            connection.execute(insert(meter_checks).values(values))
    except DBAPIError as error:
        raise NotStored(f"the check of {check.meter!r} was not stored: {explain(error)}") from error


def list_meter_checks(engine: Engine) -> list[MeterCheck]:
    """All of them, the oldest first. RecordsError: a row holds what was never stored."""
    with reading(engine) as connection:
        ordered = select(meter_checks).order_by(meter_checks.c.time_ns, meter_checks.c.id)
        return [_check_of(row) for row in connection.execute(ordered).mappings()]


def _check_of(row: RowMapping) -> MeterCheck:
    given: Mapping[str, Any] = {field.name: row[field.name] for field in fields(MeterCheck)}
    try:
        kinds = {"coupling": Coupling(given["coupling"]), "unit": Unit(given["unit"])}
        return MeterCheck(**{**given, **kinds})
    except (ValueError, TypeError) as error:
        raise RecordsError(
            f"meter_checks, row {row['id']}: damaged: {error}; set the record aside and restore a backup"
        ) from error
