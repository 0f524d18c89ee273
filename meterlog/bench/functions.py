"""What a meter can measure, and whether what it shows is what its channel wants."""

from meterlog.quantity import Unit
from meterlog.reading import Coupling, Indication, State

FUNCTION_UNITS: dict[str, Unit] = {
    "voltage": Unit.VOLT,
    "current": Unit.AMPERE,
    "resistance": Unit.OHM,
    "continuity": Unit.OHM,
    "diode": Unit.VOLT,
    "frequency": Unit.HERTZ,
    "period": Unit.SECOND,
    "capacitance": Unit.FARAD,
    "inductance": Unit.HENRY,
    "temperature": Unit.CELSIUS,
    "power": Unit.WATT,
    "duty": Unit.PERCENT,
    "distortion": Unit.PERCENT,
}
COUPLED = frozenset({"voltage", "current"})
"""The functions that mean nothing without ac, dc or acdc."""


def misfit(indication: Indication, function: str, coupling: Coupling) -> str:
    """How an indication contradicts the function wanted, as "shows ohm, ... wants V dc"; "" if it does not.

    A number without a unit contradicts too: what a volt channel keeps must be volts. Blanks and overloads
    without one do not, they are no numbers.
    """
    if _fits(indication, function, coupling):
        return ""
    shown = _words(indication.unit or "no unit", indication.coupling, indication.function, function)
    wanted = _words(FUNCTION_UNITS[function], coupling, function, indication.function)
    return f"shows {shown}, wants {wanted}"


def _fits(indication: Indication, function: str, coupling: Coupling) -> bool:
    unit = indication.unit
    silent = unit is Unit.NONE and indication.state is not State.OK
    return (
        (silent or unit is FUNCTION_UNITS[function])
        and _agree(indication.coupling, coupling)
        and _agree(indication.function, function)
    )


def _agree(shown: str, wanted: str) -> bool:
    """What either side leaves open is no contradiction."""
    return not shown or not wanted or shown == wanted


def _words(unit: str, coupling: Coupling, function: str, other: str) -> str:
    """The function is named only where unit and coupling may not tell the two apart."""
    name = f"({function})" if function and other and function != other else ""
    return " ".join(word for word in (unit, coupling, name) if word)
