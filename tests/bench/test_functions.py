"""What a meter shows against what its channel wants: the knob of a handheld may stand anywhere."""

import pytest

from meterlog.bench.functions import COUPLED, FUNCTION_UNITS, misfit
from meterlog.quantity import Unit
from meterlog.reading import Coupling, Indication, State
from tests.bench.kit import volts

OHMS = volts(4700.0, unit=Unit.OHM, coupling=Coupling.NONE, function="resistance")
DIODE = volts(0.6, coupling=Coupling.NONE, function="diode")


@pytest.mark.parametrize(
    ("shown", "function", "coupling"),
    [
        (volts(), "voltage", Coupling.DC),
        (volts(function="voltage"), "voltage", Coupling.DC),
        (volts(coupling=Coupling.NONE), "voltage", Coupling.DC),
        (OHMS, "resistance", Coupling.NONE),
        (DIODE, "diode", Coupling.NONE),
        (volts(None, unit=Unit.NONE, coupling=Coupling.NONE, state=State.BLANK), "voltage", Coupling.AC),
    ],
)
def test_what_the_channel_wants_is_no_contradiction(
    shown: Indication, function: str, coupling: Coupling
) -> None:
    assert misfit(shown, function, coupling) == ""


@pytest.mark.parametrize(
    ("shown", "function", "coupling", "says"),
    [
        (OHMS, "voltage", Coupling.DC, "shows ohm (resistance), wants V dc (voltage)"),
        (volts(unit=Unit.OHM, coupling=Coupling.NONE), "voltage", Coupling.DC, "shows ohm, wants V dc"),
        (volts(), "voltage", Coupling.AC, "shows V dc, wants V ac"),
        (DIODE, "voltage", Coupling.DC, "shows V (diode), wants V dc (voltage)"),
        (volts(unit=Unit.NONE), "voltage", Coupling.DC, "shows no unit dc, wants V dc"),
        (volts(None, unit=Unit.OHM, coupling=Coupling.NONE), "voltage", Coupling.DC, "shows ohm, wants V dc"),
    ],
)
def test_another_function_is_named_beside_the_wanted_one(
    shown: Indication, function: str, coupling: Coupling, says: str
) -> None:
    assert misfit(shown, function, coupling) == says


def test_every_function_has_a_unit_and_only_voltage_and_current_a_coupling() -> None:
    assert set(FUNCTION_UNITS) > COUPLED
    assert Unit.NONE not in FUNCTION_UNITS.values()
