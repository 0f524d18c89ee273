"""Levels, units and decibel arithmetic. Imports nothing of ours but the error root.

Values are kept in base units; a `Scale` is one way to write them, a `Quantity` a value with its scale,
a `Span` a distance about a value. Volts are stored, levels are shown, always with their reference.
"""

from meterlog.quantity.decibel import difference_db, ratio_from_db
from meterlog.quantity.errors import QuantityError
from meterlog.quantity.offset import Offset, parse_target
from meterlog.quantity.parse import parse_duration_s, parse_entry, parse_quantity, parse_scale, parse_span
from meterlog.quantity.quantity import Quantity, References, dbfs, vu
from meterlog.quantity.scales import (
    AMPERE,
    CENT,
    DBU,
    DBV,
    GAIN,
    HERTZ,
    HUNDREDTH,
    KILOHERTZ,
    KILOHM,
    MEGAHERTZ,
    MEGOHM,
    MICROAMPERE,
    MICROVOLT,
    MILLIAMPERE,
    MILLIVOLT,
    OHM,
    PERCENT,
    PPB,
    PPM,
    SECOND,
    VOLT,
    WATT,
    Scale,
    base_scale,
    dbm,
    readable_scale,
)
from meterlog.quantity.show import show, show_deviation, show_number
from meterlog.quantity.spans import DECIBEL, Span
from meterlog.quantity.units import Unit

__all__ = [
    "AMPERE",
    "CENT",
    "DBU",
    "DBV",
    "DECIBEL",
    "GAIN",
    "HERTZ",
    "HUNDREDTH",
    "KILOHERTZ",
    "KILOHM",
    "MEGAHERTZ",
    "MEGOHM",
    "MICROAMPERE",
    "MICROVOLT",
    "MILLIAMPERE",
    "MILLIVOLT",
    "OHM",
    "PERCENT",
    "PPB",
    "PPM",
    "SECOND",
    "VOLT",
    "WATT",
    "Offset",
    "Quantity",
    "QuantityError",
    "References",
    "Scale",
    "Span",
    "Unit",
    "base_scale",
    "dbfs",
    "dbm",
    "difference_db",
    "parse_duration_s",
    "parse_entry",
    "parse_quantity",
    "parse_scale",
    "parse_span",
    "parse_target",
    "ratio_from_db",
    "readable_scale",
    "show",
    "show_deviation",
    "show_number",
    "vu",
]
