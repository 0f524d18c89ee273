"""Base units. Everything measured is kept in one of these; prefixes and decibels are ways to show it."""

from enum import StrEnum


class Unit(StrEnum):
    """Symbols as a plain-ASCII column of an export can carry them."""

    VOLT = "V"
    AMPERE = "A"
    OHM = "ohm"
    HERTZ = "Hz"
    PERCENT = "%"
    FARAD = "F"
    HENRY = "H"
    CELSIUS = "degC"
    FAHRENHEIT = "degF"
    WATT = "W"
    SECOND = "s"
    CENT = "cent"
    NONE = ""
