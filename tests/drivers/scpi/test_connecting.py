"""A scpi meter is connected, set up, put back in step and given back; swapped, switched off, not there."""

import pytest

from meterlog.reading import (
    Coupling,
    Garbled,
    Settings,
    Unanswered,
    WrongMeter,
)
from meterlog.testing import FakeClock, FakeWire
from meterlog_drivers.scpi.driver import driver
from tests.drivers.fake_meter import FakeMeter
from tests.drivers.scpi.meter_kit import AC, answering, at_once, connected


def test_the_filter_is_probed_once() -> None:
    """Only one of three spellings is known; manuals of four meter families, one of them with this one."""
    fake = FakeMeter()
    fake.known = ("CONF:", "VOLT:AC:DET:BAND ", "*CLS")
    settings = Settings(coupling=Coupling.AC, ac_filter_hz=20.0)
    meter, _ = connected(fake, settings)
    meter.poll(1.0)
    fake.events = 128
    meter.resynchronise()
    asked = [command for command in fake.heard if "BAND " in command]
    assert asked == ["VOLT:AC:BAND 20", "VOLT:AC:DET:BAND 3", "VOLT:AC:DET:BAND 3"]


def test_a_meter_without_any_such_filter_is_refused() -> None:
    fake = FakeMeter()
    fake.known = ("CONF:", "*CLS")
    with pytest.raises(ValueError, match="no command for its AC filter"):
        connected(fake, Settings(coupling=Coupling.AC, ac_filter_hz=20.0))


def test_a_refused_setting_is_told_with_the_meters_own_words() -> None:
    fake = FakeMeter()
    fake.refuses = {"CONF:VOLT:AC 5000": '-222,"Data out of range"'}
    with pytest.raises(ValueError, match="refused CONF:VOLT:AC 5000: -222 Data out of range"):
        connected(fake, Settings(coupling=Coupling.AC, range_max=5000.0))


def test_an_error_queue_without_end() -> None:
    fake = FakeMeter()
    fake.answers = {"SYST:ERR?": '-350,"Queue overflow"'}
    with pytest.raises(Garbled, match="does not end"):
        connected(fake)
    assert fake.heard.count("SYST:ERR?") < 50


def test_an_open_line_is_no_meter() -> None:
    """Opened is not connected: only a good *IDN? counts."""
    clock = FakeClock()
    started_ns = clock.now_ns
    with pytest.raises(Unanswered, match=r"\*IDN\?"):
        driver.connect(FakeWire(clock), AC, clock)
    assert clock.now_ns - started_ns < 5_000_000_000


def test_the_wrong_meter_is_refused() -> None:
    connected(FakeMeter(), Settings(options={"identity": "ACME"}))
    with pytest.raises(WrongMeter, match=r'"ACME,M1,123,1\.0" answers; the bench file wants "OTHER" in it'):
        connected(FakeMeter(), Settings(options={"identity": "OTHER"}))


def test_nothing_is_set_on_the_wrong_meter() -> None:
    fake = FakeMeter()
    with pytest.raises(WrongMeter):
        connected(fake, Settings(options={"identity": "OTHER"}))
    assert set(fake.heard) == {"*IDN?", "*OPC?"}


def test_another_meter_after_a_resynchronisation() -> None:
    fake = FakeMeter()
    meter, _ = connected(fake)
    fake.identity = "ACME,M1,999,1.0"
    with pytest.raises(WrongMeter, match=r"999.*it was.*123"):
        meter.resynchronise()
    with pytest.raises(Garbled):
        meter.poll(1.0)


def test_a_meter_switched_off_and_on_is_set_up_again() -> None:
    """Bit 7 of *ESR? is power on: IEEE 488.2, 11.5.1."""
    fake = FakeMeter()
    meter, _ = connected(fake)
    meter.resynchronise()
    assert fake.heard.count("CONF:VOLT:AC") == 1
    fake.events = 128
    meter.resynchronise()
    assert fake.heard.count("CONF:VOLT:AC") == 2


def test_what_the_meter_complains_of_is_told_when_resynchronising() -> None:
    fake = FakeMeter()
    meter, _ = connected(fake)
    fake.errors = ['-410,"Query INTERRUPTED"', '-230,"Data corrupt or stale"']
    with pytest.raises(Garbled, match="the meter reports -230 Data corrupt or stale"):
        meter.resynchronise()
    fake.errors = ['-410,"Query INTERRUPTED"']
    meter.resynchronise()


def test_junk_before_connecting_is_thrown_away() -> None:
    """A modem manager's greeting, and an old answer still in the line."""
    clock, fake = FakeClock(), FakeMeter()
    wire = FakeWire(clock, fake)
    wire.send([(0.01, b"AT\r\nATZ\r\n"), (0.05, b"+3.0E+00\n")])
    meter = driver.connect(wire, AC, clock)
    assert meter.poll(1.0)[0].value == 1.0


@pytest.mark.parametrize(("terminator", "end"), [("lf", b"\n"), ("crlf", b"\r\n"), ("cr", b"\r")])
def test_lines_end_as_the_bench_file_says(terminator: str, end: bytes) -> None:
    clock, fake = FakeClock(), FakeMeter(lambda: at_once(b"+1.0E+00" + end), end=end)
    wire = FakeWire(clock, fake)
    meter = driver.connect(wire, Settings(options={"terminator": terminator}), clock)
    assert meter.poll(1.0)[0].value == 1.0
    assert all(line.endswith(end) and not line[: -len(end)].endswith((b"\r", b"\n")) for line in wire.written)


def test_remote_is_taken_first_and_given_back() -> None:
    fake = FakeMeter()
    meter, _ = connected(fake, Settings(options={"remote": True}))
    assert fake.heard[0] == "SYST:REM"
    meter.close()
    assert fake.heard[-1] == "SYST:LOC"
    quiet = FakeMeter()
    connected(quiet)[0].close()
    assert not [command for command in quiet.heard if command.startswith("SYST:LOC")]


def test_closing_out_of_step_does_not_raise() -> None:
    fake = answering(())
    meter, _ = connected(fake, Settings(options={"remote": True}))
    with pytest.raises(Unanswered):
        meter.poll(1.0)
    meter.close()
    meter.close()


FETCHED = """
like = "plain"
summary = "started first, then fetched"
asking = { start = "INIT", question = "FETC?" }
"""


def test_readings_may_be_started_and_then_fetched(tmp_path_factory: pytest.TempPathFactory) -> None:
    """FETCh? waits for the running measurement (SCPI-1999 vol. 2, chapter 3, from memory)."""
    path = tmp_path_factory.mktemp("dialect") / "fetched.toml"
    path.write_text(FETCHED)
    fake = FakeMeter()
    fake.known = [*fake.known, "INIT"]
    fake.answers = {"FETC?": "+1.00000000E+00,+2.00000000E+00"}
    meter, _ = connected(fake, Settings(dialect=str(path), options={"samples": 2}))
    assert [shown.value for shown in meter.poll(1.0)] == [1.0, 2.0]
    assert fake.heard[-3:-1] == ["INIT", "FETC?"]
    assert fake.errors == []
