"""From a line to what the meter showed, as its file describes it. No port, no clock; never raises."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TypeVar

from meterlog.quantity import Unit
from meterlog.reading import Indication, State
from meterlog_drivers.declared.line_cutter import Cut, LineCutter
from meterlog_drivers.declared.line_model import Answer, Tables
from meterlog_drivers.declared.meaning import AS_SELECTED, Meaning
from meterlog_drivers.declared.template import NUMBER, Template

_NUMBER = re.compile(rf"(?P<sign>[+-]?) *(?P<digits>{NUMBER})")
_STATES = frozenset(State)
_CLOSE = 1e-6
"""Relative distance within which a number is the one that stands for something else."""
Value = TypeVar("Value")
Selected = Mapping[int, Meaning]
"""By display, what was selected last."""


@dataclass(frozen=True, slots=True)
class Decoded:
    """What one line says: indications, or the number of an error, or why it fits no shape."""

    indications: tuple[Indication, ...] = ()
    error: str = ""
    misfit: str = ""


class Misfit(Exception):  # noqa: N818 - no fault: a line may be of another shape
    """Why a line is not of this shape."""


@dataclass(frozen=True, slots=True)
class LineDecoder:
    """tables, and the shapes of lines that are in them."""

    tables: Tables
    shapes: tuple[tuple[Answer, Template], ...]

    @classmethod
    def of(cls, tables: Tables) -> "LineDecoder":
        return cls(tables, tuple(tables.shapes()))

    def cutter(self, *, begun: bool) -> LineCutter:
        """For one stream of such lines, or for one answer."""
        words = [*self.tables.units, *self.tables.functions, *self.tables.status, *self.tables.mark]
        return LineCutter(
            self.tables.receive,
            begun=begun,
            headed=all(template.headed for _, template in self.shapes),
            more="".join([*words, *self.tables.number.words, *(answer.line for answer, _ in self.shapes)]),
            seven_bits=self.tables.line.data_bits == 7,
        )

    def decode(self, cut: Cut, selected: Selected) -> Decoded:
        """By the first shape that the line fits as a whole."""
        text = cut.line.decode("latin-1")
        why = ""
        for answer, template in self.shapes:
            parts = text.split(answer.between) if answer.between else [text]
            matches = [template.match(part) for part in parts]
            if not all(matches):
                continue
            try:
                return self._decoded([one for one in matches if one], cut, answer, selected)
            except Misfit as misfit:
                why = why or str(misfit)
        return Decoded(misfit=why or "it fits no line of [[answer]]")

    def _decoded(
        self, matches: list[dict[str, str]], cut: Cut, answer: Answer, selected: Selected
    ) -> Decoded:
        if "error" in matches[0]:
            return Decoded(error=matches[0]["error"])
        displays = [("", 1, answer.means), ("2", 2, answer.means2)]
        return Decoded(
            tuple(
                self._shown(fields, suffix, cut, _default(means, selected.get(display)), display)
                for fields in matches
                for suffix, display, means in displays
                if "number" + suffix in fields
            )
        )

    def _shown(
        self, fields: dict[str, str], suffix: str, cut: Cut, default: Meaning, display: int
    ) -> Indication:
        meaning = self._meaning(fields, suffix).over(default).whole()
        tells = self._tells(fields, suffix)
        state, value, count = self._number(
            fields["number" + suffix], fields.get("sign" + suffix, ""), meaning.factor
        )
        state = next((State(tell) for tell in tells if tell in _STATES and tell != State.OK), state)
        flags = {tell for tell in tells if tell not in _STATES}
        if "store" in fields:
            flags.add(f"store={fields['store']}")
        return Indication(
            monotonic_ns=cut.at_ns,
            value=value if state is State.OK else None,
            unit=meaning.unit,
            state=state,
            coupling=meaning.coupling,
            resolution=count if state is State.OK else 0.0,
            function=meaning.function,
            flags=frozenset(flags),
            raw=cut.line,
            display=display,
        )

    def _meaning(self, fields: dict[str, str], suffix: str) -> Meaning:
        """The unit's word goes before the function's: "DCV ... mV" are millivolts."""
        unit = _looked_up(self.tables.units, fields.get("unit" + suffix), "units") or Meaning()
        if suffix:
            return unit
        function = _looked_up(self.tables.functions, fields.get("function"), "functions")
        return _combined(unit, function) if function else unit

    def _tells(self, fields: dict[str, str], suffix: str) -> list[str]:
        status = _looked_up(self.tables.status, fields.get("status"), "status") or []
        mark = _looked_up(self.tables.mark, fields.get("mark" + suffix), "mark") or []
        return [*status, *mark]

    def _number(self, text: str, sign: str, factor: Decimal) -> tuple[State, float | None, float]:
        """State, value and one count of the display, in the base unit."""
        shown = text.strip(" ")
        rules = self.tables.number
        if state := _state_of(text, rules.words):
            return state, None, 0.0
        found = _NUMBER.fullmatch(shown)
        if found is None:
            raise Misfit(f"{text!r} is no number, and no word for one in [number]")
        number = Decimal(found["digits"])
        if _stands_for(number, rules.overload_at):
            return State.OVERLOAD, None, 0.0
        if _stands_for(number, rules.invalid_at):
            return State.INVALID, None, 0.0
        if number > Decimal(repr(rules.most)):
            raise Misfit(
                f"{shown} is beyond what a meter can show; if it stands for overload, say so in [number]"
            )
        minus = "-" in (found["sign"], sign)
        exponent = number.as_tuple().exponent
        assert isinstance(exponent, int)
        return State.OK, float((-number if minus else number) * factor), float(factor.scaleb(exponent))


def _combined(unit: Meaning, function: Meaning) -> Meaning:
    """A function fixes what is measured even where the unit usually stands for something else."""
    expected = function.whole().unit
    temperatures = {Unit.CELSIUS, Unit.FAHRENHEIT}
    if unit.unit and expected and unit.unit is not expected and {unit.unit, expected} != temperatures:
        raise Misfit(f"function and unit contradict each other: {expected} and {unit.unit}")
    meaning = unit.over(function)
    return replace(meaning, function=function.function or meaning.function)


def _default(means: Meaning | str | None, selected: Meaning | None) -> Meaning:
    if means == AS_SELECTED:
        return selected or Meaning()
    return means if isinstance(means, Meaning) else Meaning()


def _looked_up(table: Mapping[str, Value], word: str | None, name: str) -> Value | None:
    if word is None:
        return None
    found = table.get(word, table.get(word.strip(" ")))
    if found is None:
        raise Misfit(f"{word!r} is not in [{name}]")
    return found


def _state_of(text: str, words: Mapping[str, str]) -> State | None:
    word = words.get(text, words.get(text.strip(" ")))
    if word is None and text and not text.strip(" "):
        return State.BLANK
    return State(word) if word else None


def _stands_for(number: Decimal, codes: list[float]) -> bool:
    return any(abs(float(number) / code - 1.0) <= _CLOSE for code in codes)
