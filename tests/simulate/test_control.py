"""What can be asked of the bench, and what is refused, without a socket."""

import json
from collections.abc import Mapping

import pytest

from meterlog.simulate.bench import SimulatedBench
from meterlog.simulate.control import Control
from meterlog.simulate.errors import SimulateError
from meterlog.simulate.faults import Faults
from meterlog.simulate.scenarios.tape_machine import PLAY, TapeMachine
from tests.simulate.virtual_bench import VirtualClock


class FakePort:
    """A lead without a wire."""

    def __init__(self) -> None:
        self.name, self.address, self.plugged, self.faults = "panel meter", "somewhere", True, Faults()

    def plug(self) -> None:
        self.plugged = True

    def unplug(self) -> None:
        self.plugged = False


@pytest.fixture
def port() -> FakePort:
    return FakePort()


@pytest.fixture
def control(port: FakePort) -> Control:
    return Control(SimulatedBench(TapeMachine(), VirtualClock()), {port.name: port})


def test_state_and_scene_are_json_and_speak_of_the_same_things(control: Control) -> None:
    state, scene = (
        json.loads(json.dumps(answer(), allow_nan=False)) for answer in (control.state, control.scene)
    )
    assert set(state["trimmers"]) == set(scene["trimmers"]) == set(TapeMachine.trimmers)
    assert set(state["controls"]) == set(scene["controls"])
    assert set(state["outputs"]) == {"output", "input", "panel"}
    assert state["lamp"] is False
    assert state["meters"]["panel meter"]["plugged"] is True
    assert scene["controls"]["transport"]["kind"] == "choice"


def test_turn_and_set(control: Control) -> None:
    assert control.turn({"trimmer": "bias", "to": 0.25}) == {"trimmer": "bias", "to": 0.25}
    assert control.turn({"trimmer": "bias", "by": -0.05})["to"] == pytest.approx(0.2)
    control.set({"transport": PLAY, "level_dbu": 4})
    assert control.state()["controls"]["transport"] == PLAY  # type: ignore[index]


@pytest.mark.parametrize(
    "asked",
    [
        {},
        {"trimmer": "bias"},
        {"by": 0.1},
        {"trimmer": 3, "by": 0.1},
        {"trimmer": "bias", "by": 0.1, "to": 0.2},
        {"trimmer": "bias", "by": 1.5},
        {"trimmer": "bias", "to": -0.1},
        {"trimmer": "bias", "to": "far"},
        {"trimmer": "bias", "to": True},
        {"trimmer": "bias", "to": float("nan")},
        {"trimmer": "treble", "by": 0.1},
    ],
)
def test_a_turn_that_makes_no_sense_turns_nothing(control: Control, asked: Mapping[str, object]) -> None:
    before = control.state()["trimmers"]
    with pytest.raises(SimulateError):
        control.turn(asked)
    assert control.state()["trimmers"] == before


def test_faults(control: Control, port: FakePort) -> None:
    answer = control.fault({"meter": "panel meter", "plugged": False, "late_s": 2, "noise_bytes": 3})
    assert (port.plugged, port.faults) == (False, Faults(late_s=2.0, noise_bytes=3))
    assert answer["plugged"] is False
    control.fault({"meter": "panel meter", "plugged": True, "silent": True})
    assert (port.plugged, port.faults) == (True, Faults(silent=True, late_s=2.0, noise_bytes=3))


@pytest.mark.parametrize(
    "asked",
    [
        {},
        {"meter": "other"},
        {"meter": "panel meter", "smoke": True},
        {"meter": "panel meter", "plugged": "no"},
        {"meter": "panel meter", "plugged": False, "silent": 1},
        {"meter": "panel meter", "silent": True, "late_s": -1},
        {"meter": "panel meter", "silent": True, "late_s": 1e9},
        {"meter": "panel meter", "silent": True, "noise_bytes": 1.5},
        {"meter": "panel meter", "silent": True, "noise_bytes": True},
    ],
)
def test_a_fault_that_makes_no_sense_changes_nothing(
    control: Control, port: FakePort, asked: Mapping[str, object]
) -> None:
    with pytest.raises(SimulateError):
        control.fault(asked)
    assert (port.plugged, port.faults) == (True, Faults())
