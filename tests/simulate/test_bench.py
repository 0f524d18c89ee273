"""The bench remembers where everything stood, and refuses what does not exist."""

import pytest

from meterlog.simulate.bench import MEMORY_S, SimulatedBench
from meterlog.simulate.errors import SimulateError
from meterlog.simulate.scenarios.power_amplifier import PowerAmplifier
from meterlog.simulate.scenarios.tape_machine import RECORD, TapeMachine
from tests.simulate.virtual_bench import VirtualClock


@pytest.fixture
def clock() -> VirtualClock:
    return VirtualClock()


@pytest.fixture
def bench(clock: VirtualClock) -> SimulatedBench:
    return SimulatedBench(TapeMachine(), clock)


def test_the_past_can_be_asked_for(bench: SimulatedBench, clock: VirtualClock) -> None:
    look = bench.signal("input")
    clock.time_s = 1.0
    bench.set({"oscillator": True, "level_dbu": 4.0})
    clock.time_s = 2.0
    bench.set({"level_dbu": -16.0})
    assert look(0.5) < 0.001
    assert look(1.5) == pytest.approx(10 * look(2.5), rel=1e-3)
    assert look(1.0) == look(1.5)  # a change counts from the moment it is made


def test_what_is_recorded_is_heard_after_the_tape_has_moved_on(
    bench: SimulatedBench, clock: VirtualClock
) -> None:
    bench.set({"transport": RECORD})
    clock.time_s = 1.0
    bench.set({"oscillator": True, "level_dbu": 4.0})
    listen = bench.signal("output")
    assert listen(1.09) < 0.01
    assert listen(1.11) > 0.5


def test_memory_does_not_grow(bench: SimulatedBench, clock: VirtualClock) -> None:
    for step in range(5000):
        clock.time_s = step * 0.05
        bench.turn("bias", by=0.001 if step % 2 else -0.001)
    assert len(bench._positions) <= MEMORY_S / 0.05 + 3
    assert bench.outputs(clock.time_s - MEMORY_S / 2)


def test_turning_by_and_to(bench: SimulatedBench) -> None:
    assert bench.turn_to("bias", 0.25) == pytest.approx(0.25)
    assert bench.turn("bias", by=0.5) == pytest.approx(0.75)
    assert bench.turn("bias", by=0.5) == 1.0
    assert bench.now().trimmers["bias"].shaft == 1.0


def test_unknown_names_are_answered_with_the_known_ones(bench: SimulatedBench) -> None:
    with pytest.raises(SimulateError, match="azimuth"):
        bench.turn("treble", by=0.1)
    with pytest.raises(SimulateError, match="azimuth"):
        bench.turn_to("treble", 0.1)
    with pytest.raises(SimulateError, match="level_dbu"):
        bench.set({"volume": 1.0})


def test_a_refused_setting_changes_none_of_those_with_it(bench: SimulatedBench) -> None:
    before = bench.now()
    with pytest.raises(SimulateError):
        bench.set({"oscillator": True, "level_dbu": 99})
    assert bench.now() == before


def test_lamp_follows_the_path(bench: SimulatedBench) -> None:
    threshold = 8 + 10 * TapeMachine.trimmers["overload lamp"].start + 0.506  # as the dial shows it
    lit = []
    for level_dbu in (threshold - 0.1, threshold + 0.1, threshold - 0.2, threshold - 0.4, threshold - 0.1):
        bench.set({"oscillator": True, "level_dbu": level_dbu})
        lit.append(bench.now().lit)
    assert lit == [False, True, True, False, False]


def test_a_capacitor_discharges_from_when_the_mains_went(clock: VirtualClock) -> None:
    """45 V and 45 V with 15 s: 33.1 V after one time constant (calculation)."""
    bench = SimulatedBench(PowerAmplifier(), clock)
    rails = bench.signal("rails")
    assert rails(0.0) == 0.0
    bench.set({"mains": True})
    clock.time_s = 100.0
    bench.set({"mains": True})  # on already: nothing begins anew
    assert rails(100.0) == pytest.approx(90.0)
    bench.set({"mains": False})
    assert rails(115.0) == pytest.approx(90.0 * 0.3679, rel=1e-3)
