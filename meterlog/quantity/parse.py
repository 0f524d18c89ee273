"""Text to quantities, spans, scales and durations: what people write in procedures and type on the page."""

import math
from collections.abc import Callable, Iterable

from meterlog.quantity.errors import QuantityError
from meterlog.quantity.quantity import Quantity, References, dbfs, vu
from meterlog.quantity.scales import DBU, DBV, LINEAR_SCALES, PPB, PPM, Scale, dbm
from meterlog.quantity.spans import Span
from meterlog.quantity.text import split, split_unit
from meterlog.quantity.units import Unit

_FIXED = {s.symbol: s for s in (*LINEAR_SCALES.values(), PPM, PPB, DBU, DBV) if s.symbol}
_DURATIONS_S = {"ms": 1e-3, "s": 1.0, "min": 60.0, "h": 3600.0}
_NO_REFERENCES = References()


def parse_quantity(text: str, references: References = _NO_REFERENCES) -> Quantity:
    """A value with its unit: "1.228 V", "+4 dBu", "4.7 kΩ", "0 dBm (600 ohm)", "-10 VU (0 VU = +4 dBu)".

    `references` serve levels written without brackets. QuantityError says what to write instead.
    """
    number, symbol, note = split(text)
    return _on(number, _scale(symbol, note, references, text), text)


def parse_entry(text: str, scale: Scale) -> Quantity:
    """What is typed in where a number on `scale` is asked for: "-0.5" and "-0.5 VU" are on it, another scale
    of the same unit is named. QuantityError says what to write instead.
    """
    number, symbol, note = split(text)
    own = not note and symbol in ("", scale.symbol)
    entered = _on(number, scale, text) if own else parse_quantity(text)
    if entered.scale.unit is not scale.unit:
        wanted = f"{scale.symbol}{scale.bracket}"
        raise QuantityError(f"{text!r} is not in {wanted}; write the number and {scale.symbol}")
    return entered


def _on(number: float, scale: Scale, text: str) -> Quantity:
    base = scale.to_base(number)
    if not math.isfinite(base) or (scale.is_level and base == 0.0):
        raise QuantityError(f"{text!r} is beyond every meter; look at the number and its unit again")
    return Quantity(base, scale)


def parse_scale(text: str, references: References = _NO_REFERENCES) -> Scale:
    """A unit alone: "mV", "dBu", "dBm (600 ohm)". QuantityError as for `parse_quantity`."""
    symbol, note = split_unit(text)
    return _scale(symbol, note, references, text)


def parse_span(text: str) -> Span:
    """A distance above 0: "0.1 dB", "2 %", "5 mV", also with "±" before it. QuantityError otherwise."""
    number, symbol, note = split(text.strip().removeprefix("±").removeprefix("+-"))
    if note or not number > 0.0:
        raise QuantityError(f"{text!r} is no distance; write a number above 0, such as 0.25 dB, 2 % or 5 mV")
    if symbol in ("dB", "%"):
        return Span(number, "dB" if symbol == "dB" else "%")
    if symbol in _FIXED and not _FIXED[symbol].is_level:
        return Span(_FIXED[symbol].to_base(number), _FIXED[symbol].unit, _FIXED[symbol])
    if symbol in _FIXED or symbol in _REFERRED:
        raise QuantityError(f"{text!r}: the distance between two levels is in dB alone; write {number:g} dB")
    raise QuantityError(f"{text!r}: {_unknown(symbol, ['dB', *_FIXED])}")


def parse_duration_s(text: str) -> float:
    """Seconds, from 0 up: "500 ms", "1.5 s", "20 min", "2 h". QuantityError otherwise."""
    number, symbol, note = split(text)
    if symbol not in _DURATIONS_S or note:
        raise QuantityError(f"{text!r} is no duration; write it in ms, s, min or h, such as 1.5 s")
    if number < 0.0:
        raise QuantityError(f"{text!r} is a duration below 0; write it without the minus")
    return number * _DURATIONS_S[symbol]


def _scale(symbol: str, note: str, references: References, text: str) -> Scale:
    if symbol in _REFERRED:
        return _REFERRED[symbol](note, references, text)
    if symbol == "dB":
        raise QuantityError(f"{text!r}: a level in dB needs a reference; write dBu, dBV, dBm, dBFS or VU")
    if symbol not in _FIXED:
        raise QuantityError(f"{text!r}: {_unknown(symbol, [*_FIXED, *_REFERRED])}")
    if note:
        raise QuantityError(f"{text!r}: {symbol} has no other reference; leave out ({note})")
    return _FIXED[symbol]


def _dbm(note: str, references: References, text: str) -> Scale:
    if note:
        load = parse_quantity(note)
        if load.scale.unit is not Unit.OHM:
            raise QuantityError(f"{text!r}: dBm takes its load in brackets, such as (600 ohm), not ({note})")
        return dbm(load.base)
    if references.dbm_ohm is None:
        raise QuantityError(f"{text!r}: dBm needs its load; write it behind in brackets, such as (600 ohm)")
    return dbm(references.dbm_ohm)


def _vu(note: str, references: References, text: str) -> Scale:
    return vu(_zero("VU", "+4 dBu", note, references.vu, text))


def _dbfs(note: str, references: References, text: str) -> Scale:
    return dbfs(_zero("dBFS", "+18 dBu", note, references.dbfs, text))


def _zero(symbol: str, example: str, note: str, known: Quantity | None, text: str) -> Quantity:
    """What reads 0 on a referred scale: from the note in brackets, else from the references."""
    if note:
        left, _, right = note.partition("=")
        if left.split() == ["0", symbol] and right:
            return parse_quantity(right)
    elif known is not None:
        return known
    raise QuantityError(f"{text!r}: {symbol} needs its reference; write behind it (0 {symbol} = {example})")


_REFERRED: dict[str, Callable[[str, References, str], Scale]] = {"dBm": _dbm, "VU": _vu, "dBFS": _dbfs}


def _unknown(symbol: str, known: Iterable[str]) -> str:
    if not symbol:
        return "a number needs its unit; write it behind, such as V, mV, Hz, ohm, % or dBu"
    alike = [name for name in known if name.lower() == symbol.lower()]
    if alike:
        return f"unit {symbol!r} is not known; did you mean {' or '.join(alike)}?"
    return f"unit {symbol!r} is not known; write one such as V, mV, mA, kHz, kohm, %, dBu or dBV"
