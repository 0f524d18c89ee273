"""Types of the fields of a file: texts such as "+4 dBu", "0.1 dB", "20 min" become values.

The references that levels need (0 VU, 0 dBFS, the ohms of dBm) come in through pydantic's validation
context, because the file itself or the bench states them before any step is read.
"""

from collections.abc import Callable
from datetime import date
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, ValidationInfo

from meterlog.files import in_schema
from meterlog.quantity import (
    GAIN,
    HUNDREDTH,
    Offset,
    Quantity,
    QuantityError,
    References,
    Scale,
    Span,
    Unit,
    parse_duration_s,
    parse_quantity,
    parse_scale,
    parse_span,
    parse_target,
)


def references_of(info: ValidationInfo) -> References:
    """The references in force while this file is read."""
    context: dict[str, Any] = info.context or {}
    found = context.get("references")
    return found if isinstance(found, References) else References()


def _text(value: object, example: str) -> str:
    if isinstance(value, str):
        return value
    raise ValueError(f"write a text with its unit, for example {example}")


def _reader(parse: Callable[[str, References], object], example: str, *kinds: type) -> BeforeValidator:
    def read(value: object, info: ValidationInfo) -> object:
        if isinstance(value, kinds):
            return value
        try:
            return parse(_text(value, example), references_of(info))
        except QuantityError as error:
            raise ValueError(str(error)) from error

    return BeforeValidator(read)


def _unit(value: object) -> object:
    try:
        return Unit(_text(value, '"V"'))
    except ValueError as error:
        known = ", ".join(unit.value for unit in Unit if unit)
        raise ValueError(f"unknown unit {value!r}; one of {known}") from error


def _own_scale(text: str, references: References) -> Scale:
    ratios = {scale.symbol: scale for scale in (GAIN, HUNDREDTH)}
    return ratios.get(text.strip()) or parse_scale(text, references)


Level = Annotated[Quantity, _reader(parse_quantity, '"+4 dBu" or "1.228 V"', Quantity), in_schema.LEVEL]
Target = Annotated[
    Quantity | Offset,
    _reader(parse_target, '"+4 dBu", or "-3 dB" about another step', Quantity, Offset),
    in_schema.TARGET,
]
Distance = Annotated[
    Span,
    _reader(lambda text, _: parse_span(text), '"0.1 dB", "2 %" or "5 mV"', Span),
    in_schema.DISTANCE,
]
ShownIn = Annotated[Scale, _reader(parse_scale, '"dBu"', Scale), in_schema.SCALE]
OwnScale = Annotated[Scale, _reader(_own_scale, '"mA", "%" or "dB"', Scale), in_schema.OWN_SCALE]
"""Of values that no channel gives: as `ShownIn`, and dB and % as what they are of a ratio."""
Seconds = Annotated[
    float,
    _reader(lambda text, _: parse_duration_s(text), '"1.5 s" or "20 min"'),
    in_schema.SECONDS,
]
Truth = Annotated[bool, Field(strict=True)]
"""true or false; no text or number stands for one."""
Whole = Annotated[int, Field(strict=True)]
"""No text, no true, no 2.0 stands for one."""
Real = Annotated[float, Field(strict=True, allow_inf_nan=False)]
"""Whole or not; no text and no true stands for one, and TOML's inf and nan are none."""
Day = Annotated[date, Field(strict=True)]
"""TOML's own date; no text, and no number counted from 1970."""
BaseUnit = Annotated[Unit, BeforeValidator(_unit)]
