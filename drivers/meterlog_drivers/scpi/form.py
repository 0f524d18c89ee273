"""A meter's own form of number, learnt: what has lost a byte on the line is seen by its length.

Most meters send every reading as NR3 in full, sign, digits, point, digits, E, sign, digits, and always
equally long (makers' manuals print such forms). Of a meter that began so, a shorter or longer number
is refused. A new length counts from its second coming, for some meters change it with the range.
"""

import re
from collections.abc import Sequence

from meterlog.reading import Garbled, State
from meterlog_drivers.scpi.answers import Element

_FULL_NR3 = r"[+-][0-9]{1,24}\.[0-9]{1,24}E[+-][0-9]{1,3}"
_ONE = re.compile(_FULL_NR3.encode())
_ALL = re.compile(rf"(?:{_FULL_NR3},)*{_FULL_NR3}".encode())


class OwnForm:
    """What one meter has sent since it was connected."""

    def __init__(self) -> None:
        self._lengths: set[int] = set()
        self._any_form = False

    @property
    def known(self) -> bool:
        """Whether a form has been learnt, or that there is none."""
        return self._any_form or bool(self._lengths)

    def check(self, element: Element) -> None:
        """Raises Garbled; sentinels are let through, they are often spelled shorter."""
        if element.state is not State.OK or self._any_form:
            return
        length = full_nr3_length(element)
        if not self._lengths and length is None:
            self._any_form = True
        elif length is None or (self._lengths and length not in self._lengths):
            self._remember(length)
            raise Garbled(f"{element.raw!r} is not as long as this meter's readings are: bytes lost?")
        self._remember(length)

    def is_usual(self, content: bytes, parts: Sequence[bytes]) -> bool:
        """Whether all of them would pass `check`; if not, some might all the same."""
        return self._any_form or (
            set(map(len, parts)) <= self._lengths and _ALL.fullmatch(content) is not None
        )

    def _remember(self, length: int | None) -> None:
        if length is not None:
            self._lengths.add(length)


def full_nr3_length(element: Element) -> int | None:
    """Characters of a full NR3, its unit left out; None for any other form."""
    text = element.raw.removesuffix(element.suffix.encode("ascii")).strip()
    return len(text) if _ONE.fullmatch(text) else None
