"""Units that can be put on the simulated bench, by name."""

from collections.abc import Mapping
from types import MappingProxyType

from meterlog.simulate.errors import SimulateError
from meterlog.simulate.scenario import Scenario
from meterlog.simulate.scenarios.am_radio import AM_RADIO
from meterlog.simulate.scenarios.fm_detector import FM_DETECTOR
from meterlog.simulate.scenarios.interface import INTERFACE
from meterlog.simulate.scenarios.level_meters import PEAK_METER, VU_METER
from meterlog.simulate.scenarios.limiter import LIMITER
from meterlog.simulate.scenarios.line_amplifier import LINE_AMPLIFIER
from meterlog.simulate.scenarios.oscillator import OSCILLATOR
from meterlog.simulate.scenarios.panel_meter import PANEL_METER
from meterlog.simulate.scenarios.phantom import PHANTOM
from meterlog.simulate.scenarios.phono import PHONO
from meterlog.simulate.scenarios.power_amplifier import POWER_AMPLIFIER
from meterlog.simulate.scenarios.supply_rails import SUPPLY_RAILS
from meterlog.simulate.scenarios.tape_machine_steps import TAPE_MACHINE
from meterlog.simulate.scenarios.tape_record import TAPE_RECORD
from meterlog.simulate.scenarios.tape_reproduce import TAPE_REPRODUCE

_ALL = (
    TAPE_MACHINE,
    TAPE_REPRODUCE,
    TAPE_RECORD,
    LINE_AMPLIFIER,
    LIMITER,
    POWER_AMPLIFIER,
    SUPPLY_RAILS,
    OSCILLATOR,
    PHONO,
    AM_RADIO,
    FM_DETECTOR,
    PHANTOM,
    INTERFACE,
    VU_METER,
    PEAK_METER,
    PANEL_METER,
)
SCENARIOS: Mapping[str, Scenario] = MappingProxyType({one.name: one for one in _ALL})
"""By name, which is that of the procedure made for each."""


def find(name: str) -> Scenario:
    """Raises SimulateError for a name that is none of theirs."""
    if name not in SCENARIOS:
        raise SimulateError(f"no scenario {name!r}; there are {', '.join(SCENARIOS)}")
    return SCENARIOS[name]
