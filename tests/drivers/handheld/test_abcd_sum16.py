"""The format with a sum: what is asked, and where a number is made though the prefixes are not known."""

import pytest

from meterlog.reading import Garbled, Meter, Remarks, Settings, State
from meterlog.testing import Chunks, FakeClock
from meterlog_drivers.handheld.abcd_sum16 import FORMAT, driver
from tests.drivers.handheld.kinds import frame
from tests.drivers.handheld.test_asked import AskedWire, poll


def with_sums(*answers: str) -> tuple[Meter, AskedWire]:
    """A meter of abcd-sum16 that gives these answers, the last for ever; the first is spent on connecting."""
    given_ = [frame(answer) for answer in answers]
    clock = FakeClock()

    def answer(question: bytes) -> Chunks:
        return [(0.02, given_.pop(0) if len(given_) > 1 else given_[0])]

    wire = AskedWire(clock, answer)
    return driver.connect(wire, Settings(), clock), wire


def test_the_request_of_the_published_notes_is_sent() -> None:
    """abcd-pub-1: printed in a hobbyist's notes."""
    meter, wire = with_sums("abcd-01")
    assert [shown.value for shown in poll(meter)] == [12.28]
    assert set(wire.written) == {frame("abcd-pub-1")}


def test_an_answer_with_a_wrong_sum_is_no_answer() -> None:
    meter, _ = with_sums("abcd-01", "abcd-06")
    with pytest.raises(Garbled, match="wrong speed or format"):
        poll(meter)


def answer_of(function: int, text: str) -> bytes:
    body = bytes([0xAB, 0xCD, 0x10, function, 0x31, *text.encode("ascii"), *b"00000"])
    return body + sum(body).to_bytes(2)


@pytest.mark.parametrize("function", [0x01, 0x03, 0x04, 0x06, 0x07, 0x09])
def test_without_its_prefix_a_number_is_none(function: int) -> None:
    """The notes do not say which prefix goes with which range: 1.5 may be ohms or kilohms."""
    (shown,) = FORMAT.decoder().feed(answer_of(function, "  1.500"), 0)
    assert (shown.state, shown.value) == (State.INVALID, None)


@pytest.mark.parametrize(
    ("function", "value", "unit"),
    [(0x00, 1.5, "V"), (0x05, 1.5, "%"), (0x0C, 1.5e-6, "A"), (0x0F, 1.5e-3, "A"), (0x11, 1.5, "A")],
)
def test_where_the_function_names_the_unit_the_number_stands(function: int, value: float, unit: str) -> None:
    (shown,) = FORMAT.decoder().feed(answer_of(function, "  1.500"), 0)
    assert (shown.value, shown.unit) == (value, unit)


@pytest.mark.parametrize("function", [0x08, 0x12, 0x14, 0x18, 0x19, 0x55])
def test_other_functions_give_a_number_without_unit(function: int) -> None:
    (shown,) = FORMAT.decoder().feed(answer_of(function, "  1.500"), 0)
    assert (shown.value, shown.unit) == (1.5, "")


@pytest.mark.parametrize(
    ("text", "state"),
    [
        ("       ", State.BLANK),
        ("  ----- ", State.INVALID),
        ("   -OL ", State.OVERLOAD),
        ("1.2.3  ", State.INVALID),
    ],
)
def test_what_is_no_number_is_a_state(text: str, state: State) -> None:
    (shown,) = FORMAT.decoder().feed(answer_of(0x02, text[:7]), 0)
    assert (shown.state, shown.value) == (state, None)


def test_why_there_is_no_number_is_remarked_once() -> None:
    clock = FakeClock()
    wire = AskedWire(clock, lambda question: [(0.02, answer_of(0x06, "  1.500"))])
    meter = driver.connect(wire, Settings(), clock)
    assert isinstance(meter, Remarks)
    assert meter.remarks() == []
    poll(meter)
    (said,) = meter.remarks()
    assert "prefix" in said
    poll(meter)
    assert meter.remarks() == []
