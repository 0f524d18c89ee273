"""What a word of a meter means: "VDC" is volts, DC voltage; "Kohm" is thousands of ohms."""

from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from typing import Annotated

from pydantic import BeforeValidator, WithJsonSchema

from meterlog.quantity import QuantityError, Unit, parse_scale
from meterlog.reading import FUNCTION_UNITS, Coupling

NOTHING = "none"
"""Of a word that is known and says nothing that a channel could want."""
COUPLINGS = {coupling.value: coupling for coupling in Coupling if coupling.value}
_USUAL = {
    Unit.VOLT: "voltage",
    Unit.AMPERE: "current",
    Unit.OHM: "resistance",
    Unit.HERTZ: "frequency",
    Unit.FARAD: "capacitance",
    Unit.HENRY: "inductance",
    Unit.CELSIUS: "temperature",
    Unit.FAHRENHEIT: "temperature",
    Unit.WATT: "power",
    Unit.SECOND: "period",
}
"""What is measured if only a unit is shown; % may be several things."""


@dataclass(frozen=True, slots=True)
class Meaning:
    """unit is a base unit, factor what one of the shown unit is in it."""

    unit: Unit = Unit.NONE
    factor: Decimal = Decimal(1)
    function: str = ""
    coupling: Coupling = Coupling.NONE

    def over(self, other: "Meaning") -> "Meaning":
        """This meaning, and the other's where this is silent."""
        told = self if self.unit else replace(self, unit=other.unit, factor=other.factor)
        return replace(
            told, function=self.function or other.function, coupling=self.coupling or other.coupling
        )

    def whole(self) -> "Meaning":
        """With the unit that the function has, or with the function that the unit usually stands for."""
        unit = self.unit or FUNCTION_UNITS.get(self.function, Unit.NONE)
        return replace(self, unit=unit, function=self.function or _USUAL.get(unit, ""))


def parse_meaning(text: str) -> Meaning:
    """ "mV", "V dc", "voltage ac", "ohm continuity", "0.01 kHz". ValueError: which word is not understood."""
    words = text.split()
    if not words:
        raise ValueError('is empty; write a unit, a function, a coupling or several, such as "mV" or "V dc"')
    meaning = Meaning()
    for word in words:
        meaning = _with(meaning, word, text)
    return meaning


def _with(meaning: Meaning, word: str, text: str) -> Meaning:
    if word == NOTHING:
        return meaning
    if word in FUNCTION_UNITS:
        return replace(meaning, function=word)
    if word in COUPLINGS:
        return replace(meaning, coupling=COUPLINGS[word])
    if (number := _number(word)) is not None:
        return replace(meaning, factor=meaning.factor * number)
    try:
        scale = parse_scale(word)
    except QuantityError as error:
        raise ValueError(
            f"{word!r} in {text!r} is no unit, function or coupling; units are such as mV, kohm, Hz, "
            f"functions {', '.join(FUNCTION_UNITS)}, couplings {', '.join(COUPLINGS)}"
        ) from error
    if scale.is_level:
        raise ValueError(f"{word!r} is a level; meters in dB are not read: choose volts at the meter")
    return replace(meaning, unit=scale.unit, factor=meaning.factor * Decimal(repr(scale.factor)))


def _number(word: str) -> Decimal | None:
    try:
        number = Decimal(word)
    except InvalidOperation:
        return None
    return number if number.is_finite() and number > 0 else None


def _read(value: object) -> object:
    if isinstance(value, Meaning):
        return value
    if isinstance(value, str):
        return parse_meaning(value)
    raise ValueError(f'write a text, such as "mV" or "V dc", not {value!r}')


def _read_or_selected(value: object) -> object:
    return value if value == AS_SELECTED else _read(value)


def _text(description: str, *examples: str) -> WithJsonSchema:
    return WithJsonSchema({"type": "string", "description": description, "examples": list(examples)})


_WORDS = "A unit, a function, a coupling or several of them, separated by blanks"
AS_SELECTED = "as selected"
Means = Annotated[Meaning, BeforeValidator(_read), _text(f"{_WORDS}.", "mV", "V dc", "ohm continuity")]
MeansOrSelected = Annotated[
    Meaning | str,
    BeforeValidator(_read_or_selected),
    _text(f'{_WORDS}, or "as selected": what was selected last.', AS_SELECTED, "V dc"),
]
