"""The scpi meter, and what goes wrong on its line: late, cut, glued, babbling, swapped, switched off."""

from collections.abc import Iterator, Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.quantity import Unit
from meterlog.reading import (
    Coupling,
    Garbled,
    Identity,
    Indication,
    Meter,
    Settings,
    State,
    Unanswered,
    WireError,
    WrongMeter,
)
from meterlog.testing import Chunks, FakeClock, FakeWire
from meterlog_drivers.scpi.driver import driver
from tests.drivers.fake_meter import FakeMeter

AC = Settings(coupling=Coupling.AC)


def connected(fake: FakeMeter, settings: Settings = AC) -> tuple[Meter, FakeWire]:
    clock = FakeClock()
    wire = FakeWire(clock, fake)
    return driver.connect(wire, settings, clock), wire


def answering(*answers: Chunks) -> FakeMeter:
    queue: Iterator[Chunks] = iter(answers)
    return FakeMeter(lambda: next(queue))


def at_once(data: bytes) -> Chunks:
    return [(0.1, data)]


def test_a_reading_says_all_that_is_known() -> None:
    fake = answering([(0.35, b"+7.74597000E-01\r\n")])
    settings = Settings(coupling=Coupling.AC, range_max=10.0, options={"resolution": 1e-5})
    meter, wire = connected(fake, settings)
    asked_ns = wire.clock.now_ns
    (shown,) = meter.poll(1.0)
    assert shown == Indication(
        monotonic_ns=asked_ns,
        value=0.774597,
        unit=Unit.VOLT,
        state=State.OK,
        coupling=Coupling.AC,
        resolution=1e-5,
        range_max=10.0,
        function="voltage",
        raw=b"+7.74597000E-01",
    )
    assert "CONF:VOLT:AC 10,1E-05" in fake.heard
    assert meter.identity == Identity("ACME", "M1", "123", "1.0", "ACME,M1,123,1.0")


@pytest.mark.parametrize(
    ("answer", "count"),
    [
        (b"+1.23456789E-03", 1e-11),
        (b"1.2345", 1e-4),
        (b"12", 1.0),
        (b"+9.90000000E+37", 0.0),
        (b"", 0.0),
    ],
)
def test_without_the_option_one_count_is_the_last_digit_sent(answer: bytes, count: float) -> None:
    """NR3, NR2 and NR1 of IEEE 488.2, 8.7 (from memory); a sentinel and a blank count nothing."""
    meter, _ = connected(answering(at_once(answer + b"\n")))
    assert [shown.resolution for shown in meter.poll(1.0)] == [count]


@pytest.mark.parametrize(("options", "count"), [({}, 0.0), ({"resolution": 1e-3}, 1e-3)])
def test_binary_readings_have_the_count_of_the_option_or_none(
    options: dict[str, float], count: float
) -> None:
    block = b"#18" + bytes.fromhex("BFD0000000000000")  # IEEE 754: -0.25
    settings = Settings(range_max=1.0, options={"format": "real64", **options})
    meter, _ = connected(answering(at_once(block + b"\n")), settings)
    assert [(shown.value, shown.resolution) for shown in meter.poll(1.0)] == [(-0.25, count)]


@pytest.mark.parametrize(
    ("text", "state"),
    [
        (b"+9.90000000E+37\n", State.OVERLOAD),
        (b"-9.90000000E+37\n", State.OVERLOAD),
        (b"9.91E37\n", State.INVALID),
        (b"+1.00000000E+30\n", State.INVALID),
        (b"\n", State.BLANK),
    ],
)
def test_what_is_no_number_is_a_state(text: bytes, state: State) -> None:
    """Sentinels of SCPI-1999 vol. 1, 7.2.1; the short spelling is printed in a counter's manual."""
    meter, _ = connected(answering(at_once(b"+1.00000000E+00\n"), at_once(text)))
    meter.poll(1.0)
    (shown,) = meter.poll(1.0)
    assert (shown.state, shown.value) == (state, None)


def test_the_unit_a_meter_sends_counts() -> None:
    meter, _ = connected(answering(at_once(b"+1.5E+00VDC, +11.664SECS, +236RDNG\n")))
    (shown,) = meter.poll(1.0)
    assert (shown.value, shown.unit, shown.coupling) == (1.5, Unit.VOLT, Coupling.DC)


def test_samples_come_as_a_list_and_follow_each_other() -> None:
    fake = answering([(0.9, b"+1.0E+00,+2.0E+00,+9.9E+37\n")])
    meter, wire = connected(fake, Settings(options={"samples": 3}))
    asked_ns = wire.clock.now_ns
    shown = meter.poll(1.0)
    assert [s.value for s in shown] == [1.0, 2.0, None]
    assert [s.monotonic_ns - asked_ns for s in shown] == [0, 300_000_000, 600_000_000]
    assert "SAMP:COUN 3" in fake.heard


@pytest.mark.parametrize("answer", [b"1,234\n", b"+1.0E+00,+2.0E+00\n"])
def test_more_numbers_than_asked_for_are_none(answer: bytes) -> None:
    meter, _ = connected(answering(at_once(answer)))
    with pytest.raises(Garbled, match="1 readings were asked for, 2 came"):
        meter.poll(1.0)


def test_binary_readings() -> None:
    """The block of row sr-24: LF and CR inside the data."""
    block = bytes.fromhex("23 32 31 36 3F F0 0A 0D 00 00 00 0A BF D0 00 00 00 00 00 00 0A")
    fake = answering([(0.1, block[:7]), (0.1, block[7:])])
    meter, _ = connected(fake, Settings(options={"format": "real64", "samples": 2}))
    assert [shown.value for shown in meter.poll(1.0)] == [1.0024538040161155, -0.25]
    assert fake.heard[-5:-1] == ["FORM:DATA REAL,64", "SYST:ERR?", "FORM:BORD NORM", "SYST:ERR?"]


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


def test_silence_takes_as_long_as_the_filter_and_a_margin() -> None:
    fake = answering(())
    meter, wire = connected(fake, Settings(coupling=Coupling.AC, ac_filter_hz=3.0))
    before_ns = wire.clock.now_ns
    with pytest.raises(Unanswered):
        meter.poll(0.1)
    assert 7.0 <= (wire.clock.now_ns - before_ns) / 1e9 <= 9.0


@given(cut=st.integers(1, 15), late_s=st.floats(0.0, 10.0))
def test_a_cut_number_is_never_two(cut: int, late_s: float) -> None:
    """The first part in time, the rest after the deadline: neither half is a reading."""
    text = b"-1.23450000E+01\n"
    meter, _ = connected(
        answering([(0.1, text[:cut]), (3.0 + late_s, text[cut:])], at_once(b"+2.00000000E+00\n"))
    )
    with pytest.raises(Unanswered):
        meter.poll(1.0)
    assert next_value(meter) in (2.0, None)


def next_value(meter: Meter) -> float | None:
    """As a link does it: resynchronise, then ask; None if the link would open the line anew."""
    try:
        meter.resynchronise()
        return meter.poll(1.0)[0].value
    except WireError:
        return None


def test_a_cut_number_that_comes_in_time_is_seen_by_its_form() -> None:
    """Bytes lost on the line; what is left is a number, but not one that this meter would send."""
    meter, _ = connected(answering(at_once(b"-1.23450000E+01\n"), at_once(b"345\n")))
    meter.poll(1.0)
    with pytest.raises(Garbled, match="bytes lost"):
        meter.poll(1.0)


def test_answers_that_nobody_asked_for_stop_the_conversation() -> None:
    meter, wire = connected(answering(at_once(b"1.1\n2.2\n3.3"), at_once(b"5.5\n"), at_once(b"6.6\n")))
    with pytest.raises(Garbled, match="not asked for"):
        meter.poll(1.0)
    meter.resynchronise()
    assert meter.poll(1.0)[0].value == 5.5
    wire.send([(0.0, b"7.7\n")])
    with pytest.raises(Garbled, match="not asked for"):
        meter.poll(1.0)


def test_a_line_that_babbles_cannot_hold_up_a_question() -> None:
    meter, wire = connected(answering([(0.1, b"1")] * 600))
    before_ns = wire.clock.now_ns
    with pytest.raises(Unanswered, match="only b'111"):
        meter.poll(1.0)
    with pytest.raises(Garbled, match="bytes still come"):
        meter.resynchronise()
    assert (wire.clock.now_ns - before_ns) / 1e9 < 8.0


def test_a_flood_is_refused() -> None:
    meter, _ = connected(answering([(0.0, b"1" * 70_000)]))
    with pytest.raises(Garbled, match="without an end"):
        meter.poll(1.0)


def test_junk_before_connecting_is_thrown_away() -> None:
    """A modem manager's greeting, and an old answer still in the line."""
    clock, fake = FakeClock(), FakeMeter()
    wire = FakeWire(clock, fake)
    wire.send([(0.01, b"AT\r\nATZ\r\n"), (0.05, b"+3.0E+00\n")])
    meter = driver.connect(wire, AC, clock)
    assert meter.poll(1.0)[0].value == 1.0


def test_the_period_is_learnt() -> None:
    meter, wire = connected(FakeMeter())
    for _ in range(8):
        meter.poll(1.0)
        wire.clock.pass_s(0.15)
    assert meter.period_s == pytest.approx(0.5)


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


@given(st.lists(st.binary(max_size=30), max_size=4))
def test_any_answer_is_a_reading_or_an_error(pieces: Sequence[bytes]) -> None:
    meter, wire = connected(answering([(0.1, piece) for piece in pieces]))
    before_ns = wire.clock.now_ns
    try:
        shown = meter.poll(1.0)
    except WireError:
        shown = []
    assert all(s.value is None or s.raw in b"".join(pieces) for s in shown)
    assert (wire.clock.now_ns - before_ns) / 1e9 <= 4.0


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
    assert fake.heard[-2:] == ["INIT", "FETC?"]
    assert fake.errors == []
