"""What a meter can measure, by the words that bench files and drivers share."""

from meterlog.quantity import Unit

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
    "humidity": Unit.PERCENT,
}
COUPLED = frozenset({"voltage", "current"})
"""The functions that mean nothing without ac, dc or acdc."""
