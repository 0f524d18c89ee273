"""The bench meter's language, without a wire and in virtual time.

Error numbers and response forms after IEEE 488.2 and SCPI-1999 volume 2 chapter 21; filter choices as in
the manuals of a family of bench meters.
"""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.simulate.meter import MeterModel
from meterlog.simulate.scpi_meter import IDENTITY, OVERLOAD, ScpiMeter, Stopped
from meterlog.simulate.scpi_plans import AC, DC, FREQUENCY, MEASURING_S, PLANS
from tests.simulate.virtual_bench import VirtualClock

NR3 = re.compile(r"[+-]\d\.\d+E[+-]\d\d")
NO_ERROR = '0,"No error"'


class Bench:
    """A meter whose waits make the clock jump."""

    def __init__(self, volts: float = 1.0) -> None:
        self.volts = volts
        self.clock = VirtualClock()
        self.stopped = False
        looking = {AC: lambda _: self.volts, DC: lambda _: 0.0, FREQUENCY: lambda _: 440.0}
        models = {name: MeterModel(PLANS[name], signal, name) for name, signal in looking.items()}
        self.meter = ScpiMeter(models, self.clock, self._wait)

    def _wait(self, seconds: float) -> bool:
        self.clock.time_s += seconds
        return self.stopped

    def say(self, message: str) -> None:
        assert self.meter.answer(message) is None

    def ask(self, message: str) -> str:
        answer = self.meter.answer(message)
        assert answer is not None
        return answer


@pytest.fixture
def bench() -> Bench:
    return Bench()


def test_identity_has_four_fields(bench: Bench) -> None:
    assert bench.ask("*IDN?") == IDENTITY
    assert len(IDENTITY.split(",")) == 4
    assert len(IDENTITY) <= 72
    assert IDENTITY.startswith("SIMULATED BENCH")


def test_configure_and_read(bench: Bench) -> None:
    bench.say("CONF:VOLT:AC 10")
    assert bench.ask("SYST:ERR?") == NO_ERROR
    answer = bench.ask("READ?")
    assert NR3.fullmatch(answer)
    assert float(answer) == pytest.approx(1.0, rel=1e-3)
    bench.say("CONF:VOLT:DC")
    assert float(bench.ask("READ?")) == pytest.approx(0.0, abs=1e-4)


def test_a_reading_takes_its_time(bench: Bench) -> None:
    bench.say("CONF:VOLT:AC 10")
    for band_hz, seconds in MEASURING_S.items():
        bench.say(f"VOLT:AC:BAND {band_hz}")
        before_s = bench.clock.time_s
        bench.ask("READ?")
        assert bench.clock.time_s - before_s == pytest.approx(seconds)
    assert 1 / MEASURING_S[20.0] == pytest.approx(8, abs=0.5)


@pytest.mark.parametrize(
    ("asked", "chosen"), [("3", 3), ("15", 3), ("190", 20), ("20 Hz", 20), ("300E3", 200)]
)
def test_filter_between_two_choices_is_the_next_lower(bench: Bench, asked: str, chosen: float) -> None:
    bench.say(f"VOLT:AC:BAND {asked}")
    assert float(bench.ask("VOLT:AC:BAND?")) == chosen


def test_configure_puts_filter_range_and_count_back(bench: Bench) -> None:
    bench.say("CONF:VOLT:AC 10")
    bench.say("VOLT:AC:BAND 200;:SAMP:COUN 3")
    bench.say("CONF:VOLT:AC")
    assert float(bench.ask("VOLT:AC:BAND?")) == 20
    assert bench.ask("SAMP:COUN?") == "+1"
    assert "," not in bench.ask("READ?")


def test_a_slower_filter_lags_more(bench: Bench) -> None:
    readings = []
    for band_hz in (200, 3):
        bench.volts = 1.0
        bench.say(f"CONF:VOLT:AC 10;:VOLT:AC:BAND {band_hz}")
        bench.clock.time_s += 60
        bench.ask("READ?")
        bench.volts = 2.0
        readings.append(float(bench.ask("READ?")))
    assert readings[0] == pytest.approx(2.0, rel=1e-3)
    assert 1.1 < readings[1] < 1.99


def test_sample_count_gives_so_many(bench: Bench) -> None:
    bench.say("CONF:VOLT:AC 10;:SAMP:COUN 4")
    assert all(NR3.fullmatch(text) for text in bench.ask("READ?").split(","))
    assert len(bench.ask("FETC?").split(",")) == 4


def test_initiate_and_fetch(bench: Bench) -> None:
    assert bench.meter.answer("FETC?") is None
    assert bench.ask("SYST:ERR?").startswith("-230,")
    bench.say("CONF:VOLT:AC;:INIT")
    assert bench.ask("FETC?") == bench.ask("FETC?")


def test_overload_on_a_held_range(bench: Bench) -> None:
    bench.volts = 1.3
    bench.say("CONF:VOLT:AC 1")
    assert bench.ask("READ?") == OVERLOAD
    assert float(OVERLOAD) == 9.9e37
    bench.say("VOLT:AC:RANG:AUTO ON")
    assert float(bench.ask("READ?")) == pytest.approx(1.3, rel=1e-3)
    bench.say("VOLT:AC:RANG:AUTO OFF")
    assert float(bench.ask("VOLT:AC:RANG?")) == 10.0


@pytest.mark.parametrize(
    ("message", "code"),
    [
        ("VOLT:AC:DET:BAND 30", -113),
        ("FOO?", -113),
        ("VOLTA:AC:BAND 20", -113),
        ("VOLT:AC:BAND", -109),
        ("VOLT:AC:BAND 1", -222),
        ("VOLT:AC:BAND twenty", -224),
        ("CONF:VOLT:AC 1000", -222),
        ("VOLT:AC:RANG -1", -222),
        ("SAMP:COUN 0", -222),
        ("SAMP:COUN 2.5", -222),
        ("TRIG:SOUR EXT", -224),
        ("VOLT:AC:RANG:AUTO maybe", -224),
    ],
)
def test_a_wrong_message_queues_its_error_and_answers_nothing(bench: Bench, message: str, code: int) -> None:
    bench.say(message)
    assert bench.ask("SYST:ERR?").startswith(f'{code},"')
    assert bench.ask("SYST:ERR?") == NO_ERROR
    assert int(bench.ask("*ESR?")) & (0x20 if code > -200 else 0x10)


def test_a_quote_in_an_error_text_is_doubled(bench: Bench) -> None:
    bench.say('FO"O')
    assert bench.ask("SYST:ERR?") == '-113,"Undefined header;FO""O"'


def test_errors_come_first_in_first_out_until_the_queue_is_full(bench: Bench) -> None:
    for number in range(30):
        bench.say(f"FOO{number}")
    entries = [bench.ask("SYST:ERR?") for _ in range(21)]
    assert entries[0] == '-113,"Undefined header;FOO0"'
    assert entries[18] == '-113,"Undefined header;FOO18"'
    assert entries[19] == '-350,"Queue overflow"'
    assert entries[20] == NO_ERROR


def test_status(bench: Bench) -> None:
    assert int(bench.ask("*ESR?")) & 0x80  # power on, once
    assert bench.ask("*ESR?") == "0"
    bench.say("*OPC")
    bench.say("FOO")
    assert bench.ask("*ESR?;*STB?") == "33;4"
    bench.say("*CLS")
    assert bench.ask("*ESR?;*STB?;*OPC?") == "0;0;1"
    assert bench.ask("SYST:ERR?") == NO_ERROR


def test_one_bad_unit_does_not_lose_the_answers_beside_it(bench: Bench) -> None:
    assert bench.ask("*OPC?;FOO?;*OPC?") == "1;1"


def test_reset(bench: Bench) -> None:
    bench.say("CONF:VOLT:AC 1;:VOLT:AC:BAND 3")
    bench.say("*RST")
    assert bench.ask("CONF?").startswith('"VOLT ')
    assert float(bench.ask("VOLT:AC:BAND?")) == 20


def test_measure_is_configure_and_read(bench: Bench) -> None:
    bench.say("CONF:VOLT:AC 1;:VOLT:AC:BAND 200")
    assert float(bench.ask("MEAS:VOLT:AC?")) == pytest.approx(1.0, rel=1e-3)
    assert float(bench.ask("VOLT:AC:BAND?")) == 20
    assert float(bench.ask("MEAS:VOLT:DC?")) == pytest.approx(0.0, abs=1e-4)


def test_a_measurement_cut_short_answers_nothing(bench: Bench) -> None:
    bench.stopped = True
    with pytest.raises(Stopped):
        bench.meter.answer("READ?")


@given(message=st.text(max_size=80))
def test_nothing_that_is_said_breaks_it(message: str) -> None:
    bench = Bench()
    bench.meter.answer(message)
    assert bench.ask("*OPC?") == "1"


def test_frequency_is_a_function_of_its_own(bench: Bench) -> None:
    bench.say("CONF:FREQ")
    assert bench.ask("CONF?").startswith('"FREQ ')
    assert float(bench.ask("READ?")) == pytest.approx(440.0, abs=0.05)
