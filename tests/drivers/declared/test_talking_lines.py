"""Meters that talk by themselves in lines: streams with faults, silence, nonsense, recognising them.

The lines are of the shape of rows ld-14 to ld-17 (a hand-held meter's manual).
"""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.reading import Garbled, Indication, Settings, State, Unanswered, WrongMeter
from meterlog_drivers.declared.ascii import driver
from meterlog_drivers.declared.described import find_file
from meterlog_drivers.declared.line_file import load_lines
from meterlog_drivers.declared.line_meters import LineStream
from meterlog_drivers.declared.line_model import Receive, Tables
from meterlog_drivers.declared.line_plan import KIND
from tests.drivers.declared.kit import connected, kept, settings
from tests.drivers.vectors import rows

TABLES = load_lines(find_file("function-number-unit", KIND)).tables
GOOD = b"DCV -1.2345 mV \r\n"
OTHER = b"ACV  12.345 V \r\n"
WANTED = settings("function-number-unit")


def heard(data: bytes, cuts: list[int] | None = None) -> list[Indication]:
    stream, found, start = LineStream(TABLES, {}), list[Indication](), 0
    for cut in [*sorted(cuts or []), len(data)]:
        found += stream.feed(data[start:cut], at_ns=1)
        start = cut
    return found


def values(data: bytes) -> list[float | None]:
    return [shown.value for shown in heard(data)]


BARE = Tables.model_validate(
    {
        "dialect": {"name": "x", "source": "invented"},
        "answer": [{"line": "{number} V", "means": "V dc"}],
    }
)


def test_the_rest_of_a_line_is_no_reading() -> None:
    """Of -12.345 neither 2.345 nor 345, where the stream begins in it or a foreign byte stands in it."""
    for place in range(1, 9):
        whole = b"-12.345 V\r\n"
        assert bare(whole[place:] + b"+1.5 V\r\n") == [1.5]
        assert bare(b"\r\n" + whole[:place] + b"\xff" + whole[place:] + b"+1.5 V\r\n") == [1.5]
        assert values(GOOD[place:] + OTHER) == [12.345]


def test_a_line_of_another_length_than_stated_is_none() -> None:
    stated = BARE.model_copy(update={"receive": Receive(end="CR LF", length=8)})
    found = LineStream(stated, {}).feed(b"\r\n-1.250 V\r\n-1.25 V\r\n-1.2500 V\r\n-3.250 V\r\n", 0)
    assert [shown.value for shown in found] == [-1.25, -3.25]


def bare(data: bytes) -> list[float | None]:
    return [shown.value for shown in LineStream(BARE, {}).feed(data, 0)]


@pytest.mark.parametrize(
    "fault",
    [
        GOOD[:6] + GOOD[7:],  # the point lost
        GOOD[:7] + GOOD[8:],  # a digit lost
        GOOD[:7] + b"2" + GOOD[7:],  # a digit doubled
        GOOD[:5] + b"\xff" + GOOD[5:],
        GOOD.replace(b"mV", b"m\x16"),
        GOOD.replace(b"DCV", b"QCV"),
        GOOD[:9] + b"\r\n",
    ],
)
def test_a_damaged_line_costs_itself_and_no_other(fault: bytes) -> None:
    assert values(b"\r\n" + OTHER + fault + OTHER) == [12.345] * 2


def test_two_lines_glued_are_none() -> None:
    assert values(b"\r\n" + OTHER + GOOD[:-2] + GOOD + OTHER) == [12.345] * 2


def test_what_comes_between_lines_costs_none() -> None:
    assert values(b"\r\n" + OTHER + b"\r\n\r\n" + GOOD) == [12.345, -0.0012345]
    assert values(OTHER + b"\x00\xff" * 500 + GOOD) == [12.345, -0.0012345]


@given(st.lists(st.integers(0, 51), max_size=12))
def test_the_result_does_not_depend_on_the_pieces(cuts: list[int]) -> None:
    data = b"\x00" + OTHER + GOOD + b"OHM  OL Mohm \r\n" + GOOD[:9]
    assert heard(data, cuts) == heard(data)
    assert [one.state for one in heard(data)] == [State.OK, State.OK, State.OVERLOAD]


@given(st.binary(max_size=600))
def test_any_bytes_are_borne(data: bytes) -> None:
    stream = LineStream(TABLES, {})
    stream.feed(data, 0)
    stream.feed(b"\r\n", 1)
    assert [one.value for one in stream.feed(GOOD, 2)] == [-0.0012345]


@given(st.integers(0, len(GOOD) - 3), st.integers(0, 255))
def test_a_foreign_byte_gives_no_number_of_another_form(place: int, byte: int) -> None:
    """A digit may turn into a digit, and nobody can see that; nothing else may change a reading unseen."""
    damaged = GOOD[:place] + bytes([byte]) + GOOD[place + 1 :]
    found = heard(b"\r\n" + damaged)
    if found and damaged != GOOD:
        assert chr(byte) in "0123456789+- .EAV", damaged


def test_a_unit_that_contradicts_the_function_is_damage() -> None:
    assert values(b"\r\nDCV -1.2345 mF \r\nTMP  20.000 F \r\n" + OTHER) == [20.0, 12.345]


def test_memory_is_bounded() -> None:
    stream = LineStream(TABLES, {})
    for _ in range(1000):
        stream.feed(b"\x55" * 1000, 0)
    assert len(stream._cutter.pending) <= 200


def test_the_first_line_identifies_and_is_not_lost() -> None:
    meter, _ = connected(WANTED, chunks=[(0.1, OTHER[4:]), (0.5, GOOD), (0.5, OTHER)])
    assert meter.identity.text.startswith("function, number, unit (dialect ")
    assert [shown.value for _ in range(2) for shown in meter.poll(1.0)] == [-0.0012345, 12.345]


def test_silence_and_nonsense_have_their_own_words() -> None:
    with pytest.raises(Unanswered, match="is the meter on"):
        connected(WANTED)
    with pytest.raises(Garbled, match=r"wrong speed, or another format.*19200 baud 8N1"):
        connected(WANTED, chunks=[(0.1, b"\x80\xfe" * 30)])
    with pytest.raises(Garbled, match="bytes without a reading"):
        connected(WANTED, chunks=[(0.1, b"\x80\xfe" * 3000)])


def test_a_line_that_almost_fits_is_told_with_what_is_missing() -> None:
    with pytest.raises(Garbled, match=r"'kV' is not in \[units\]"):
        connected(WANTED, chunks=[(0.1, b"DCV  1.2345 kV \r\n")] * 3)


def test_the_line_goes_dead_and_nothing_is_repeated() -> None:
    meter, _ = connected(WANTED, chunks=[(0.1, b"\r\n" + GOOD), (0.5, GOOD[:8])])
    assert len(meter.poll(1.0)) == 1
    assert [*meter.poll(3.0), *meter.poll(3.0)] == []


def test_after_resynchronising_half_a_line_is_forgotten() -> None:
    meter, wire = connected(WANTED, chunks=[(0.1, b"\r\n" + GOOD), (0.1, GOOD[:6])])
    meter.poll(0.05)
    meter.poll(0.2)
    meter.resynchronise()
    wire.send([(0.1, GOOD[6:] + OTHER)])
    assert [shown.value for shown in meter.poll(1.0)] == [12.345]


def test_lines_that_end_by_silence(tmp_path: Path) -> None:
    text = (
        '[dialect]\nname = "x"\nsource = "invented"\n[receive]\nend = "none"\nidle = "50 ms"\n'
        '[[answer]]\nline = "{number:SD.DDD}"\nmeans = "V dc"\n'
    )
    chunks = [(0.1, b".111"), (0.3, b"+1."), (0.01, b"234"), (0.3, b"-1.500"), (0.3, b"+9")]
    meter, _ = connected(settings(kept(tmp_path, text)), chunks=chunks)
    assert [shown.value for _ in range(4) for shown in meter.poll(0.4)] == [1.234, -1.5]


def test_such_meters_are_recognised_by_two_whole_lines() -> None:
    probe = next(one for one in driver.probes() if one.dialect == "function-number-unit")
    assert (probe.question, str(probe.line)) == (b"", "19200 baud 8N1")
    found = probe.recognise(OTHER[7:] + GOOD + OTHER)
    assert found
    assert found.text.startswith("function, number, unit")
    others = (b"", GOOD + GOOD[:9], b"+1.2345E+0 VDC\r\n" * 5, b"\x00" * 50, GOOD + b"x\r\ny\r\n" + GOOD * 2)
    assert [probe.recognise(other) for other in others] == [None] * 5


def test_an_identity_of_another_is_refused() -> None:
    with pytest.raises(WrongMeter, match="wants"):
        connected(
            Settings(dialect="function-number-unit", options={"identity": "other"}), chunks=[(0.1, GOOD * 2)]
        )


LETTER = load_lines(find_file("polled-letter", KIND)).tables


@pytest.mark.parametrize(
    "row",
    [row for row in rows("handheld_streams.csv") if row["format"] == "ascii14"],
    ids=lambda row: row["id"],
)
def test_lines_of_constant_length_with_faults_of_the_line(row: dict[str, str]) -> None:
    """A byte lost, one doubled, an end lost, 7N2 opened as 8N1; the head of the file names the sources."""
    found = LineStream(LETTER, {}).feed(bytes.fromhex(row["hex"]), 0)
    assert [f"{shown.value:.10g} {shown.unit}" for shown in found] == json.loads(row["must_emit"])


def test_lines_of_that_letter_in_its_vector_file() -> None:
    """But a14-14: a unit that no table has is told, not passed as none."""
    for row in rows("ascii14.csv"):
        found = LineStream(LETTER, {}).feed(bytes.fromhex(row["hex"]), 0)
        if row["id"] == "a14-14":
            assert found == []
            continue
        assert (row["expect"] == "reject") == (found == []), row["id"]
        for shown in found:
            assert shown.value == (float(row["value"]) if row["value"] else None), row["id"]
            assert (shown.unit, shown.coupling) == (row["unit"], row["coupling"]), row["id"]


def test_the_rest_of_an_end_is_not_the_first_byte_of_the_next_line() -> None:
    """A doubled LF, which stands alone until the next line comes."""
    stream = LineStream(TABLES, {})
    stream.feed(GOOD + b"\n", at_ns=1)
    (shown,) = stream.feed(OTHER, at_ns=2)
    assert shown.monotonic_ns == 2
