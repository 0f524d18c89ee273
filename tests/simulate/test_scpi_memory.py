"""The simulated bench meter measures into its memory, as manuals of bench meters say of theirs."""

import pytest

from meterlog.simulate.meter import MeterModel
from meterlog.simulate.scpi_memory import ReadingMemory, block
from meterlog.simulate.scpi_meter import ScpiMeter
from meterlog.simulate.scpi_plans import AC, DC, FREQUENCY, MEASURING_S, PLANS
from tests.simulate.virtual_bench import VirtualClock


class Bench:
    """A meter whose clock the test moves."""

    def __init__(self) -> None:
        self.clock = VirtualClock()
        looking = {AC: lambda _: 1.0, DC: lambda _: 2.0, FREQUENCY: lambda _: 440.0}
        models = {name: MeterModel(PLANS[name], signal, name) for name, signal in looking.items()}
        self.meter = ScpiMeter(models, self.clock, self._wait)

    def _wait(self, seconds: float) -> bool:
        self.clock.time_s += seconds
        return False

    def ask(self, message: str) -> str:
        return self.meter.answer(message) or ""


@pytest.fixture
def bench() -> Bench:
    return Bench()


def readings(answer: str) -> list[str]:
    """IEEE 488.2, 8.7.9: after # the number of digits, then the count of bytes."""
    assert answer[0] == "#"
    digits = int(answer[1])
    text = answer[2 + digits :]
    assert len(text) == int(answer[2 : 2 + digits])
    return text.split(",") if text else []


def test_it_measures_on_until_it_is_stopped_and_r_never_waits(bench: Bench) -> None:
    bench.ask("CONF:VOLT:DC;:TRIG:COUN INF;:INIT")
    assert readings(bench.ask("R?")) == []
    assert bench.ask("R?") == "#10"
    bench.clock.time_s += 10.5 * MEASURING_S[20.0]
    assert bench.ask("DATA:POIN?") == "+10"
    assert len(readings(bench.ask("R? 4"))) == 4
    assert len(readings(bench.ask("R? 100"))) == 6
    bench.clock.time_s += 2 * MEASURING_S[20.0]
    bench.ask("ABOR")
    bench.clock.time_s += 60
    assert len(readings(bench.ask("R?"))) == 2


def test_the_timer_sets_the_pace(bench: Bench) -> None:
    bench.ask("CONF:VOLT:DC;:SAMP:SOUR TIM;TIM 0.5;:TRIG:COUN INF;:INIT")
    bench.clock.time_s += 5.2
    assert bench.ask("DATA:POIN?") == "+10"


def test_more_than_there_are_cannot_be_removed(bench: Bench) -> None:
    bench.ask("CONF:VOLT:DC;:SAMP:COUN 3;:INIT")
    bench.clock.time_s += 60
    assert bench.ask("DATA:REM? 4") == ""
    assert bench.ask("SYST:ERR?").startswith("-222,")
    assert len(readings(bench.ask("DATA:REM? 3"))) == 3


def test_the_oldest_are_overwritten_and_a_bit_says_so_once(bench: Bench) -> None:
    memory = ReadingMemory(bench.clock, lambda at_s: f"{at_s:.0f}", holds=3)
    memory.start(1.0, float("inf"))
    bench.clock.time_s += 3.0
    assert memory.take_overflow() == 0
    bench.clock.time_s += 2.0
    assert memory.fetch(9) == ["3", "4", "5"]
    assert [memory.take_overflow(), memory.take_overflow()] == [1 << 14, 0]


@pytest.mark.parametrize("change", ["CONF:VOLT:DC", "VOLT:DC:RANG 10", "*RST"])
def test_any_change_empties_the_memory(bench: Bench, change: str) -> None:
    bench.ask("CONF:VOLT:DC;:TRIG:COUN INF;:INIT")
    bench.clock.time_s += 5.0
    bench.ask(change)
    assert bench.ask("R?") == "#10"


def test_the_second_display(bench: Bench) -> None:
    bench.ask("CONF:VOLT:AC")
    assert bench.ask("DATA2?") == ""
    assert bench.ask("SYST:ERR?").startswith("-230,")
    bench.ask('VOLT:AC:SEC "FREQ"')
    assert float(bench.ask("DATA2?")) == pytest.approx(440.0, rel=1e-3)
    bench.ask('VOLT:AC:SEC "RES"')
    assert bench.ask("SYST:ERR?").startswith("-224,")


def test_an_empty_block() -> None:
    assert block([]) == "#10"


def test_opc_waits_for_the_last_reading_and_for_ever_if_there_is_none(bench: Bench) -> None:
    """IEEE 488.2 (from memory)."""
    bench.ask("CONF:VOLT:DC;:SAMP:COUN 10;:INIT")
    began_s = bench.clock.time_s
    assert bench.ask("*OPC?") == "1"
    assert bench.clock.time_s - began_s == pytest.approx(10 * MEASURING_S[20.0])
    bench.ask("TRIG:COUN INF;:INIT")
    assert bench.ask("*OPC?") == ""
    bench.ask("ABOR")
    assert bench.ask("*OPC?") == "1"
