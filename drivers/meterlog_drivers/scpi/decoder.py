"""From the content of an answer to indications. Pure: the same content after the same answers gives the same.

There are two ways with one result. Blocks of plain numbers, all of the form that this meter is known to send,
are taken whole, because a meter's memory gives a thousand at once; everything else goes element by element.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache

from meterlog.reading import Garbled, Indication, State
from meterlog_drivers.scpi.answers import (
    LARGEST_VALUE,
    NUMBER,
    Element,
    judge,
    last_digit,
    measured,
    parse_elements,
    parse_reals,
)
from meterlog_drivers.scpi.dialect import SUFFIX_MEANINGS
from meterlog_drivers.scpi.form import OwnForm
from meterlog_drivers.scpi.plan import Display, Plan

Dates = Callable[[int], Sequence[int]]
"""So many readings have come: when each began, monotonic nanoseconds."""

_NUMBERS = re.compile(rf"(?:{NUMBER},)*{NUMBER}".encode())


class Decoder:
    """One meter's answers since it was connected; `displays` are those whose readings come in one answer."""

    def __init__(self, plan: Plan, displays: Mapping[int, Display]) -> None:
        self._plan = plan
        self._displays = tuple(displays.items())
        self._forms = tuple(OwnForm() for _ in displays)
        # Below this no number can be a sentinel or too large.
        self._plain_below = min(LARGEST_VALUE, plan.overload, plan.dialect.not_a_number) * (1.0 - 1e-5)

    def indications(self, content: bytes, dates: Dates) -> list[Indication]:
        """One for each reading and display. Garbled: what came is no such answer."""
        parts = self._plain(content)
        if parts is not None:
            return self._at_once(parts, dates(len(parts)))
        rows = self._rows(self._elements(content))
        return [
            self._indication(element, number, display, at_ns)
            for row, at_ns in zip(rows, dates(len(rows)), strict=True)
            for element, (number, display) in zip(row, self._displays, strict=True)
        ]

    def blank(self, raw: bytes, at_ns: int) -> Indication:
        """For an answer with nothing in it."""
        number, display = self._displays[0]
        return self._indication(Element(None, State.BLANK, raw), number, display, at_ns)

    def _plain(self, content: bytes) -> list[bytes] | None:
        """The numbers, if they are plain ones of the meter's usual form and nothing else."""
        plan, form = self._plan, self._forms[0]
        if plan.format.layout or plan.dialect.elements or len(self._displays) > 1 or not form.known:
            return None
        if _NUMBERS.fullmatch(content) is None:
            return None
        parts = content.split(b",")
        return parts if form.is_usual(content, parts) else None

    def _at_once(self, parts: Sequence[bytes], dates: Sequence[int]) -> list[Indication]:
        plan = self._plan
        ((display_number, display),) = self._displays
        unit, coupling, function = display.unit, display.coupling, display.function
        range_max, fixed, below = plan.range_max, plan.resolution, self._plain_below
        shown = []
        for raw, at_ns, number in zip(parts, dates, map(float, parts), strict=True):
            value: float | None = number
            state, count = State.OK, fixed or 0.0
            if not -below < number < below:
                value, state = judge(number, plan.overload, plan.dialect.not_a_number)
            if state is State.OK and not fixed:
                count = _count_of(_form_of(raw))
            shown.append(
                Indication(
                    monotonic_ns=at_ns,
                    value=value,
                    unit=unit,
                    state=state,
                    coupling=coupling,
                    resolution=count,
                    range_max=range_max,
                    function=function,
                    raw=raw,
                    display=display_number,
                )
            )
        return shown

    def _elements(self, content: bytes) -> list[Element]:
        plan = self._plan
        if plan.format.layout:
            return parse_reals(content, plan.format.layout, plan.overload, plan.dialect.not_a_number)
        return parse_elements(content, plan.overload, plan.dialect.not_a_number)

    def _rows(self, elements: Sequence[Element]) -> Sequence[Sequence[Element]]:
        """The elements of each reading, one for each display."""
        displays = len(self._displays)
        readings = self._described(elements) if self._plan.dialect.elements else measured(elements)
        if len(readings) % displays:
            raise Garbled(f"{len(readings)} numbers came for {displays} displays")
        rows = [readings[at : at + displays] for at in range(0, len(readings), displays)]
        if not self._plan.format.layout:
            for row in rows:
                for element, form in zip(row, self._forms, strict=True):
                    form.check(element)
        return rows

    def _described(self, elements: Sequence[Element]) -> list[Element]:
        """Those at the reading's place; a time stamp or counter elsewhere than described is refused."""
        names = self._plan.dialect.elements
        for at, element in enumerate(elements):
            if not _fits(names[at % len(names)], element.suffix) or len(elements) % len(names):
                came = b",".join(one.raw for one in elements[: len(names) + 1])
                raise Garbled(f"{came[:80]!r} is not made of {', '.join(names)}")
        return list(elements[names.index("reading") :: len(names)])

    def _indication(self, element: Element, number: int, display: Display, at_ns: int) -> Indication:
        plan = self._plan
        unit, coupling = SUFFIX_MEANINGS.get(element.suffix, (display.unit, display.coupling))
        return Indication(
            monotonic_ns=at_ns,
            value=element.value,
            unit=unit,
            state=element.state,
            coupling=coupling,
            resolution=(plan.resolution if number == 1 else None) or element.count,
            range_max=plan.range_max if number == 1 else None,
            function=_function_of(display, element.suffix),
            raw=element.raw,
            display=number,
        )


def _function_of(display: Display, suffix: str) -> str:
    """What the bench file wants, unless the unit that came belongs to something else."""
    unit, coupling = SUFFIX_MEANINGS.get(suffix, (display.unit, display.coupling))
    return display.function if (unit, coupling) == (display.unit, display.coupling) else ""


def _fits(name: str, suffix: str) -> bool:
    if name == "reading":
        return suffix not in ("SECS", "RDNG", "LIMITS")
    if name == "time":
        return suffix in ("", "SECS")
    return suffix in ("", "RDNG" if name == "number" else "LIMITS" if name == "limit" else "")


def _form_of(raw: bytes) -> tuple[int, bytes]:
    """Digits behind the point, and the exponent: what the worth of the last digit hangs on."""
    mantissa, _, exponent = raw.upper().partition(b"E")
    point = mantissa.find(b".")
    return (0 if point < 0 else len(mantissa) - point - 1), exponent


@lru_cache(maxsize=4096)
def _count_of(form: tuple[int, bytes]) -> float:
    digits, exponent = form
    return last_digit("1" + ("." + "0" * digits if digits else "") + "E" + (exponent.decode() or "0"))
