"""From the bench file's settings to what is measured, checked before a wire is opened."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from meterlog.quantity import QuantityError, Unit, parse_quantity
from meterlog.reading import Coupling, Options, Settings
from meterlog_drivers.audio.levels import LEAST_PERIODS
from meterlog_drivers.displays import insist_on_main, refuse_third

FUNCTIONS = ("voltage", "distortion", "frequency")
REFERENCE = ("full_scale", "referenced", "referenced_with")
METER_OPTIONS = (*REFERENCE, "average", "frequency", "identity")
SHORTEST_S, LONGEST_S, USUAL_S = 0.05, 10.0, 0.25


@dataclass(frozen=True, slots=True)
class Reference:
    """What voltage a full-scale sine has, and how that is known."""

    full_scale_v: float
    text: str


@dataclass(frozen=True, slots=True)
class Plan:
    """functions: one for each display; frequency_hz: the one line that is measured, None for all."""

    functions: tuple[str, ...]
    reference: Reference | None = None
    average_s: float = USUAL_S
    frequency_hz: float | None = None
    identity: str = ""


def plan_of(settings: Settings) -> Plan:
    """ValueError: what the settings ask for cannot be, and what could."""
    refuse_unknown(settings.options, METER_OPTIONS)
    insist_on_main(settings.displays)
    refuse_third(settings.displays)
    if settings.range_max is not None or settings.ac_filter_hz is not None:
        raise ValueError("a sound device has neither a range nor an AC filter: remove range and ac_filter")
    wanted = [(settings.function, settings.coupling)]
    if settings.second is not None:
        wanted.append((settings.second.function, settings.second.coupling))
    plan = Plan(
        tuple(_function(*one) for one in wanted),
        reference_of(settings.options) if "full_scale" in settings.options else None,
        _number(settings.options, "average", SHORTEST_S, LONGEST_S) or USUAL_S,
        _number(settings.options, "frequency", 1.0, 100e3),
        str(settings.options.get("identity", "")),
    )
    _insist(plan)
    return plan


def reference_of(options: Options) -> Reference:
    """ValueError: the reference is not stated whole."""
    missing = [key for key in REFERENCE if not str(options.get(key, ""))]
    if missing:
        raise ValueError(
            f"no volts without a reference: write the options {', '.join(missing)}. Feed a steady sine, "
            "measure it with a meter, and write what a full-scale sine would be: "
            'full_scale = "+24 dBu", the day as referenced, the meter as referenced_with'
        )
    stated, when, meter = (str(options[key]) for key in REFERENCE)
    return Reference(_volts(stated), f"0 dBFS is {stated}, referenced {_day(when)} with {meter}")


def refuse_unknown(options: Options, known: Collection[str]) -> None:
    if unknown := sorted(set(options) - set(known)):
        raise ValueError(f"no option {', '.join(unknown)}; the audio driver knows {', '.join(known)}")


def _insist(plan: Plan) -> None:
    if "voltage" in plan.functions and plan.reference is None:
        reference_of({})
    if plan.frequency_hz is not None and plan.frequency_hz * plan.average_s < LEAST_PERIODS:
        raise ValueError(
            f"{plan.frequency_hz:g} Hz have no {LEAST_PERIODS} periods in an average of "
            f"{plan.average_s:g} s; write an average of {LEAST_PERIODS / plan.frequency_hz:.2g} s or more"
        )


def _function(function: str, coupling: Coupling) -> str:
    if function not in FUNCTIONS:
        raise ValueError(f"a sound device shows no {function}; it shows {', '.join(FUNCTIONS)}")
    if function == "voltage" and coupling is not Coupling.AC:
        raise ValueError("a sound device passes no DC: write coupling ac")
    return function


def _volts(stated: str) -> float:
    try:
        quantity = parse_quantity(stated)
    except QuantityError as error:
        raise ValueError(f"the option full_scale: {error}") from error
    if quantity.scale.unit is not Unit.VOLT or quantity.base <= 0.0:
        raise ValueError(f"the option full_scale is {stated!r}; write a level such as +24 dBu or 12.28 V")
    return quantity.base


def _day(stated: str) -> date:
    try:
        return date.fromisoformat(stated)
    except ValueError:
        raise ValueError(f"the option referenced is {stated!r}; write a day such as 2026-05-01") from None


def _number(options: Options, key: str, least: float, most: float) -> float | None:
    value = options.get(key)
    if value is None:
        return None
    if isinstance(value, (str, bool)) or not least <= value <= most:
        raise ValueError(f"the option {key} is {value!r}; write a number from {least:g} to {most:g}")
    return float(value)
