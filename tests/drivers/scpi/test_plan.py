"""From settings to commands, and what is refused before a byte is sent."""

import pytest

from meterlog.quantity import Unit
from meterlog.reading import Coupling, Settings
from meterlog_drivers.scpi.dialect import Dialect
from meterlog_drivers.scpi.dialect_file import find_dialect
from meterlog_drivers.scpi.plan import Plan, plan_of

PLAIN = find_dialect("plain")


def planned(settings: Settings, dialect: Dialect = PLAIN) -> Plan:
    return plan_of(settings, dialect)


@pytest.mark.parametrize(
    ("settings", "command"),
    [
        (Settings(), "CONF:VOLT:DC"),
        (Settings(coupling=Coupling.AC), "CONF:VOLT:AC"),
        (Settings(coupling=Coupling.AC, range_max=0.1), "CONF:VOLT:AC 0.1"),
        (Settings(range_max=1000.0, options={"resolution": 0.001}), "CONF:VOLT:DC 1000,0.001"),
        (Settings(function="current", coupling=Coupling.AC, range_max=1.0), "CONF:CURR:AC 1"),
        (Settings(function="resistance", range_max=1e7), "CONF:RES 1E+07"),
        (Settings(function="frequency"), "CONF:FREQ"),
    ],
)
def test_configure(settings: Settings, command: str) -> None:
    """Headers of SCPI-1999 vol. 2, short forms."""
    assert planned(settings).configure == [command]


def test_the_unit_follows_the_function() -> None:
    assert planned(Settings(function="frequency")).displays[0].unit is Unit.HERTZ


@pytest.mark.parametrize(
    ("wanted_hz", "steps"),
    [
        (3.0, [3, 3, 3]),
        (15.0, [3, 3, 3]),
        (20.0, [20, 3, 20]),
        (30.0, [20, 30, 20]),
        (190.0, [20, 30, 20]),
        (1000.0, [200, 300, 200]),
    ],
)
def test_the_step_below_the_wanted_frequency(wanted_hz: float, steps: list[float]) -> None:
    """Makers' manuals: 15 picks 3 and 190 picks 20; steps 3-20-200 in two families, 3-30-300 in one."""
    assert [ac_filter.step_hz(wanted_hz) for ac_filter in PLAIN.ac_filter] == steps


@pytest.mark.parametrize(("filter_hz", "slowest_s"), [(3.0, 7.0), (20.0, 1.0), (200.0, 0.6)])
def test_patience_covers_the_slowest_delay_of_the_filter(filter_hz: float, slowest_s: float) -> None:
    """About 7.0, 1.0 and 0.6 s in older single-channel meters (from memory), less in later manuals."""
    plan = planned(Settings(coupling=Coupling.AC, ac_filter_hz=filter_hz))
    assert slowest_s < plan.reading_s(PLAIN.ac_filter[0]) < slowest_s + 1.0


@pytest.mark.parametrize(
    ("settings", "text"),
    [
        (Settings(function="loudness"), 'no function "loudness '),
        (Settings(function="resistance", coupling=Coupling.AC), "possible are .*resistance,"),
        (Settings(coupling=Coupling.ACDC), "voltage acdc"),
        (Settings(ac_filter_hz=20.0), "ac_filter means nothing for voltage dc"),
        (Settings(coupling=Coupling.AC, ac_filter_hz=1.0), "start at 3 Hz"),
        (Settings(coupling=Coupling.AC, ac_filter_hz=float("nan")), "start at 3 Hz"),
        (Settings(options={"resolution": 0.1}), "needs a range"),
        (Settings(range_max=1.0, options={"resolution": "fine"}), "resolution is 'fine'"),
        (Settings(options={"overload": -1}), "overload is -1"),
        (Settings(options={"samples": 0}), "samples is 0"),
        (Settings(options={"samples": 2.5}), "samples is 2.5"),
        (Settings(options={"format": "hex"}), "possible are ascii, real32"),
        (Settings(options={"terminator": "nul"}), "possible are lf, crlf, cr"),
        (Settings(options={"remote": "yes"}), "true or false is wanted"),
        (Settings(options={"speed": 1}), "no option speed; the scpi driver knows buffered, cycles, format"),
    ],
)
def test_what_cannot_be_is_refused_with_what_could(settings: Settings, text: str) -> None:
    with pytest.raises(ValueError, match=text):
        planned(settings)
