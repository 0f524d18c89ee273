"""How the texts of fields look in a JSON Schema: wide enough for all that is read, narrow enough to help.

An editor shows the description and the examples and marks what does not match; the checker has the last
word. The patterns keep to what ECMA 262 and Python both understand.
"""

from pydantic import WithJsonSchema

from meterlog.quantity import PPB, PPM, Unit

_NUMBER = r"[+\-\u2212]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+\-]?[0-9]+)?"
_PREFIXED = r"[pnum\u00b5\u03bckMG]?(V|A|F|H|W|s|Hz|[oO]hms?|\u2126|\u03a9)"
_ALONE = [unit.value for unit in (Unit.PERCENT, Unit.CELSIUS, Unit.FAHRENHEIT, Unit.CENT)]
_ALONE += [scale.symbol for scale in (PPM, PPB)] + ["\u00b0[CF]"]
_LINEAR = rf"({_PREFIXED}|{'|'.join(_ALONE)})"
_SCALE = rf"({_LINEAR}|dBu|dBV|(dBm|dBFS|VU)( *\(.*\))?)"


def _text(description: str, pattern: str, *examples: str) -> WithJsonSchema:
    return WithJsonSchema(
        {
            "type": "string",
            "description": description,
            "pattern": rf"^\s*{pattern}\s*$",
            "examples": list(examples),
        }
    )


LEVEL = _text(
    "A value with its unit. Levels in dB carry their reference.",
    rf"{_NUMBER}\s*{_SCALE}",
    "+4 dBu",
    "1.228 V",
    "200 mV",
    "0 dBm (600 ohm)",
    "10 kHz",
)
TARGET = _text(
    "A value with its unit, or, with a `reference`, so many dB about what that step came to.",
    rf"{_NUMBER}\s*({_SCALE}|dB)",
    "+4 dBu",
    "200 mV",
    "-3 dB",
)
DISTANCE = _text(
    "A distance above 0: in dB, in % of the value, or in the unit itself.",
    rf"(\u00b1|\+-)?\s*{_NUMBER}\s*({_LINEAR}|dB)",
    "0.1 dB",
    "2 %",
    "5 mV",
)
SCALE = _text("A unit or level scale to show values in.", _SCALE, "dBu", "mV", "dBm (600 ohm)")
OWN_SCALE = _text("A unit to show values in; dB and % of ratios.", rf"({_SCALE}|dB)", "mA", "%", "dB")
SECONDS = _text("A time, in ms, s, min or h.", rf"{_NUMBER}\s*(ms|s|min|h)", "500 ms", "1.5 s", "20 min")
