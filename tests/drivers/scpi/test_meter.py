"""The readings of the scpi meter, and what goes wrong on its line: late, cut, glued, babbling."""

from collections.abc import Sequence

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
)
from tests.drivers.fake_meter import FakeMeter
from tests.drivers.scpi.meter_kit import answering, at_once, connected


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
    at = fake.heard.index("FORM:DATA REAL,64")
    assert fake.heard[at : at + 4] == ["FORM:DATA REAL,64", "SYST:ERR?", "FORM:BORD NORM", "SYST:ERR?"]


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


def test_the_period_is_learnt() -> None:
    meter, wire = connected(FakeMeter())
    for _ in range(8):
        meter.poll(1.0)
        wire.clock.pass_s(0.15)
    assert meter.period_s == pytest.approx(0.502), "with the look at the front panel"


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
