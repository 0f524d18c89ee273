"""How an answer looks, written as manuals print it: "{status:1}{function:3}{number:SD.DDDDDESDD}".

What is outside braces stands there as it is. Inside stand a field and, after a colon, its shape:

    {number}           any decimal number, or one of the words for a display without one
    {number:SD.DDD}    S + - or blank, D a digit, anything else itself
    {number:7}         exactly seven characters, or a word; blanks round the number do not count
    {sign}             + - or blank, where it does not stand right before the digits
    {unit} {function} {status} {mark}   a word without blanks and commas; {unit:4} exactly four characters
    {error:DD}         the number of an error, in its shape
    {store}            the place in the meter's memory, digits
    {skip:3}           three characters that do not matter
    {blanks}           any number of blanks, or none

A second display's fields end in 2. A template rather than a regular expression because it can be copied
from the manual's table, cannot be made slow, and a mistake in it can be pointed at.
"""

import re
from dataclasses import dataclass
from string import Formatter

NUMBER = r"(?:[0-9]{1,12}\.?[0-9]{0,12}|\.[0-9]{1,12})(?:E[+-]?[0-9]{1,2})?"
_SIGN = r"[+\- ]"
_LETTERS = {"S": _SIGN, "D": "[0-9]"}
_WORD = r"[^\s,;]{1,16}?"
_PLAIN = {
    "sign": _SIGN,
    "unit": _WORD,
    "function": _WORD,
    "status": _WORD,
    "mark": _WORD,
    "store": r"[0-9]{1,6}",
    "blanks": r" {0,40}",
}
_SHAPED = ("number", "error")
_TWICE = ("number", "unit", "sign", "mark")
FIELDS = (*_SHAPED, *_PLAIN, "skip")
LONGEST = 200
"""Of a line that is looked at; whatever is longer is no answer."""


@dataclass(frozen=True, slots=True)
class Template:
    """`match` gives the texts of the fields of a line that fits as a whole.

    fields    the names in it
    headed    whether it begins with something that the rest of such a line does not: a letter, or a word of
              stated length. Then a line whose beginning was lost does not fit
    shaped    whether every number in it has a shape. Then a line whose end was lost does not fit either
    """

    text: str
    fields: frozenset[str]
    headed: bool
    shaped: bool
    pattern: re.Pattern[str]

    def match(self, line: str) -> dict[str, str] | None:
        found = self.pattern.fullmatch(line) if len(line) <= LONGEST else None
        return found.groupdict() if found else None


def parse_template(text: str, words: tuple[str, ...] = ()) -> Template:
    """words: what may stand in a {number}'s place. ValueError: what of the template is not understood."""
    pattern, fields = "", list[str]()
    for literal, field, shape, _ in _parts(text):
        pattern += re.escape(literal)
        if field is None:
            continue
        if field in fields:
            raise ValueError(f"{{{field}}} stands there twice; a second display's fields end in 2")
        group = _shape_of(field, shape or "", "sign" + field[6:] in _names(text), words)
        named = field not in ("skip", "blanks")
        fields += [field] if named else []
        pattern += f"(?P<{field}>{group})" if named else f"(?:{group})"
    if not {"number", "error"} & set(fields):
        raise ValueError("neither {number} nor {error} stands there: what is the reading?")
    shaped = all(shape for _, field, shape, _ in _parts(text) if field and field.startswith("number"))
    return Template(text, frozenset(fields), _headed(text), shaped, re.compile(pattern, re.DOTALL))


def _headed(text: str) -> bool:
    literal, field, shape, _ = _parts(text)[0]
    word = field in ("function", "status") and bool(shape)
    return any(letter.isalpha() for letter in literal) or (word and not literal)


def _parts(text: str) -> list[tuple[str, str | None, str | None, str | None]]:
    try:
        return list(Formatter().parse(text))
    except ValueError as error:
        raise ValueError(f"{text!r}: {error}; a brace that the meter sends is written twice") from error


def _names(text: str) -> list[str]:
    return [field for _, field, _, _ in _parts(text) if field]


def _shape_of(field: str, shape: str, signed: bool, words: tuple[str, ...]) -> str:
    base = field[:-1] if field.endswith("2") and field[:-1] in _TWICE else field
    if base not in FIELDS:
        raise ValueError(
            f"no field {{{field}}}; fields are {', '.join(FIELDS)}, those of a second display end in 2"
        )
    if base in _SHAPED:
        others = [re.escape(word) for word in words] if base == "number" else []
        return "|".join([_number_shape(base, shape, signed), *others])
    if shape.isdecimal() and 1 <= int(shape) <= LONGEST:
        return f".{{{int(shape)}}}"
    if shape or base == "skip":
        raise ValueError(f"{{{field}}} needs a number of characters, such as {{{field}:3}}, not {shape!r}")
    return _PLAIN[base]


def _number_shape(base: str, shape: str, signed: bool) -> str:
    if not shape:
        return ("" if signed else "[+-]?") + NUMBER if base == "number" else "[0-9]{1,6}"
    if shape.isdecimal() and 1 <= int(shape) <= LONGEST:
        return f".{{{int(shape)}}}"
    if "D" not in shape:
        raise ValueError(f"{shape!r} has no digit; write D for each")
    return "".join(_LETTERS.get(letter) or re.escape(letter) for letter in shape)
