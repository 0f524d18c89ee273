"""Whether what a meter shows is what its channel wants."""

from functools import lru_cache
from typing import NamedTuple

from meterlog.quantity import Unit
from meterlog.reading import COUPLED, FUNCTION_UNITS, Coupling, Indication, State

__all__ = ["COUPLED", "FUNCTION_UNITS", "misfit"]


def misfit(indication: Indication, function: str, coupling: Coupling) -> str:
    """How an indication contradicts the function wanted, as "shows ohm, ... wants V dc"; "" if it does not.

    A number without a unit contradicts too: what a volt channel keeps must be volts. Blanks and overloads
    without one do not, they are no numbers.
    """
    shown = Shown(indication.unit, indication.coupling, indication.function)
    return _misfit(shown, indication.state is State.OK, function, coupling)


class Shown(NamedTuple):
    """What an indication says of itself beside its number."""

    unit: Unit
    coupling: Coupling
    function: str


@lru_cache(maxsize=256)  # asked of every reading, and a bench has a few answers
def _misfit(shown: Shown, is_number: bool, function: str, coupling: Coupling) -> str:
    if _fits(shown, is_number, function, coupling):
        return ""
    what = _words(shown.unit or "no unit", shown.coupling, shown.function, function)
    wanted = _words(FUNCTION_UNITS[function], coupling, function, shown.function)
    return f"shows {what}, wants {wanted}"


def _fits(shown: Shown, is_number: bool, function: str, coupling: Coupling) -> bool:
    silent = shown.unit is Unit.NONE and not is_number
    return (
        (silent or shown.unit is FUNCTION_UNITS[function])
        and _agree(shown.coupling, coupling)
        and _agree(shown.function, function)
    )


def _agree(shown: str, wanted: str) -> bool:
    """What either side leaves open is no contradiction."""
    return not shown or not wanted or shown == wanted


def _words(unit: str, coupling: Coupling, function: str, other: str) -> str:
    """The function is named only where unit and coupling may not tell the two apart."""
    name = f"({function})" if function and other and function != other else ""
    return " ".join(word for word in (unit, coupling, name) if word)
