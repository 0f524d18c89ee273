"""Units that can be put on the simulated bench, by name."""

from collections.abc import Mapping
from types import MappingProxyType

from meterlog.simulate.errors import SimulateError
from meterlog.simulate.scenario import Scenario
from meterlog.simulate.scenarios.tape_machine_steps import TAPE_MACHINE

SCENARIOS: Mapping[str, Scenario] = MappingProxyType({one.name: one for one in (TAPE_MACHINE,)})


def find(name: str) -> Scenario:
    """Raises SimulateError for a name that is none of theirs."""
    if name not in SCENARIOS:
        raise SimulateError(f"no scenario {name!r}; there are {', '.join(SCENARIOS)}")
    return SCENARIOS[name]
