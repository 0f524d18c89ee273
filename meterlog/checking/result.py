"""From what settled at a point to the check that goes on record."""

import math
from dataclasses import dataclass
from datetime import UTC, datetime

from meterlog.accuracy import Conditions, Shown
from meterlog.bench import MeterEntry
from meterlog.checking.errors import CheckError
from meterlog.checking.points_file import Points
from meterlog.checking.setting import CHECKED, SECOND, Setting
from meterlog.checking.specified import Specified, age_remark, specified
from meterlog.checking.steady import Capture
from meterlog.detect import Tolerance
from meterlog.reading import Identity
from meterlog.records import MeterCheck

K = 2.0
"""Coverage factor of what is computed here."""
OF_ALLOWED, OF_REFERENCE = 0.25, 0.5
"""How still a level must be if nobody says: a quarter of what is allowed, or half of what the
reference is not known to, whichever is more (choices of ours)."""


@dataclass(frozen=True, slots=True)
class Told:
    """What the person says of a check. software: which version of the program takes it."""

    temperature_c: float | None = None
    warm_up: str = ""
    operator: str = ""
    software: str = ""


@dataclass(frozen=True, slots=True)
class ReferenceUsed:
    """A value with its expanded uncertainty."""

    name: str
    serial_number: str
    value: float
    uncertainty: float
    factor: float


@dataclass(frozen=True, slots=True)
class Taken:
    """What settled at a point, and who answered; the second pair where another meter is the reference."""

    checked: Capture
    identity: Identity
    second: Capture | None = None
    second_identity: Identity | None = None


def check_of(points: Points, setting: Setting, taken: Taken, told: Told) -> MeterCheck:
    point, capture = setting.point, taken.checked
    reference = _reference(points, setting, taken, told)
    conditions = conditions_of(setting, CHECKED, capture.time_ns, told)
    found = specified_at(setting, CHECKED, capture, conditions)
    remarks = [age_remark(found, conditions), "battery low" if capture.low_battery else ""]
    return MeterCheck(
        time_ns=capture.time_ns,
        meter=setting.meter.name,
        driver=setting.meter.driver,
        maker=taken.identity.maker,
        model=taken.identity.model,
        serial_number=_serial(taken.identity, setting.meter),
        text=taken.identity.text,
        calibrated=str(setting.meter.calibrated or ""),
        point=point.name,
        function=point.function,
        coupling=point.coupling,
        unit=point.unit,
        full_scale=found.range.full_scale if found else capture.full_scale,
        frequency_hz=point.frequency_hz,
        reference=reference.name,
        reference_serial=reference.serial_number,
        reference_value=reference.value,
        reference_uncertainty=reference.uncertainty,
        reference_factor=reference.factor,
        indicated=capture.value,
        standard_uncertainty=capture.standard_uncertainty,
        degrees_of_freedom=capture.degrees_of_freedom,
        expanded_uncertainty=capture.expanded_uncertainty,
        resolution=capture.resolution,
        readings=capture.readings,
        allowed=_allowed(setting, reference.value, found),
        every_days=points.every_days,
        temperature_c=told.temperature_c,
        warm_up=told.warm_up,
        operator=told.operator,
        remark="; ".join(filter(None, remarks)),
        software=told.software,
    )


def conditions_of(setting: Setting, channel: str, time_ns: int, told: Told) -> Conditions:
    """As old as its calibration is on the day of the check."""
    today = datetime.fromtimestamp(time_ns / 1e9, UTC).date()
    known = setting.bench.conditions(today).get(channel, Conditions())
    return known._replace(frequency_hz=setting.point.frequency_hz, temperature_c=told.temperature_c)


def specified_at(
    setting: Setting, channel: str, capture: Capture, conditions: Conditions
) -> Specified | None:
    shown = Shown(capture.full_scale, capture.resolution)
    return specified(setting.bench.in_use().get(channel), capture.value, shown, conditions)


def _allowed(setting: Setting, value: float, found: Specified | None) -> float | None:
    """The point's own limit counts before the specification."""
    if setting.point.allowed is not None:
        return setting.point.allowed.half_width(value)
    return found.limit if found else None


def _reference(points: Points, setting: Setting, taken: Taken, told: Told) -> ReferenceUsed:
    point = setting.point
    if taken.second is not None:
        return _second(setting, taken, taken.second, told)
    assert point.uncertainty is not None
    serial = points.references[point.reference].serial_number
    half_width = point.uncertainty.half_width(point.value.base)
    return ReferenceUsed(point.reference, serial, point.value.base, half_width, point.k)


def _second(setting: Setting, taken: Taken, capture: Capture, told: Told) -> ReferenceUsed:
    """Another meter: what it shows, as sure as stated or as its specification says, and its scatter."""
    entry, identity = setting.second, taken.second_identity
    assert entry is not None
    assert identity is not None
    standard = math.hypot(_standard_of_second(setting, capture, told), capture.standard_uncertainty)
    return ReferenceUsed(entry.name, _serial(identity, entry), capture.value, K * standard, K)


def _standard_of_second(setting: Setting, capture: Capture, told: Told) -> float:
    point = setting.point
    if point.uncertainty is not None:
        return point.uncertainty.half_width(capture.value) / point.k
    found = specified_at(setting, SECOND, capture, conditions_of(setting, SECOND, capture.time_ns, told))
    if found is None:
        raise CheckError(
            f"point {point.name!r}: the specification of the second meter says nothing at "
            f"{capture.value:g} {point.unit}; write uncertainty there"
        )
    return found.standard_uncertainty


def _serial(identity: Identity, entry: MeterEntry) -> str:
    return identity.serial_number or entry.serial_number


def stillness(setting: Setting) -> Tolerance:
    """For the detector: a half-width at a value."""
    point = setting.point
    if point.settle is not None:
        return point.settle.half_width
    nominal = point.value.base
    full_scale = setting.channel.range.base if setting.channel.range else None
    found = specified(setting.bench.in_use().get(CHECKED), nominal, Shown(full_scale), Conditions())
    allowed = _allowed(setting, nominal, found) or 0.0
    reference = point.uncertainty.half_width(nominal) if point.uncertainty else 0.0
    least = max(OF_ALLOWED * allowed, OF_REFERENCE * reference)
    return lambda _: least
