"""Putting a name to the results."""

import re

from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.model import Sign
from meterlog.procedure.patterns.base import Pattern, Progress
from meterlog.procedure.patterns.making import Moment, pattern_for
from meterlog.procedure.view import Guide

_LONGEST = 80
_ASK = "type the name of the person who signs"
_NUMBER = re.compile(r"[+\-\u2212\u00b1]?\s*\.?\d")


@pattern_for.register
def _(_step: Sign, _moment: Moment) -> Pattern:
    return Signing()


class Signing(Pattern):
    """The name typed in is the action's text, and so on record as it was typed."""

    def entered(self, at_s: float, text: str) -> Progress:
        name = " ".join(text.split())
        if len(name) > _LONGEST:
            raise IllegalAction(f"{_ASK}, in {_LONGEST} characters at most")
        if not any(letter.isalpha() for letter in name):
            raise IllegalAction(_ASK)
        if _NUMBER.match(name):
            raise IllegalAction(f"{name!r} begins like a reading; {_ASK}")
        return Progress(finished=True, reason=f"signed by {name}")

    def go_on(self, at_s: float) -> Progress:
        raise IllegalAction(f"{_ASK}; the pedal alone signs nothing")

    def guide(self) -> Guide:
        return Guide(do_now="Look at the results. Whoever signs them types the name.", asks_for="name")
