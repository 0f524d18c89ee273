"""The short way through a block gives to the last bit what the long way gives."""

import struct
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.quantity import Unit
from meterlog.reading import Coupling, Garbled, Indication, Settings, State
from meterlog_drivers.scpi.decoder import Decoder
from meterlog_drivers.scpi.dialect_file import find_dialect
from meterlog_drivers.scpi.plan import plan_of


def decoder(dialect: str = "memory-band", **options: str | float | bool) -> Decoder:
    plan = plan_of(Settings(range_max=10.0, options=options), find_dialect(dialect))
    return Decoder(plan, dict(enumerate(plan.displays, 1)))


def read(one: Decoder, content: bytes) -> list[Indication] | str:
    try:
        return one.indications(content, range)
    except Garbled as error:
        return str(error)


def nr3(value: float) -> str:
    return f"{value:+.8E}"


NUMBERS = st.one_of(
    st.floats(-1e19, 1e19).map(nr3),
    st.sampled_from(["+9.90000000E+37", "-9.90000000E+37", "+9.91000000E+37", "+9.9E37", "+1.00000000E+30"]),
)
DAMAGED = st.one_of(NUMBERS, st.sampled_from(["", "1.5", "+1.5E+00", "12", "nan", "+1.0000000E+00", "1e999"]))


@given(first=NUMBERS, texts=st.lists(DAMAGED, max_size=8))
def test_both_ways_agree(first: str, texts: list[str]) -> None:
    short, long = decoder(), decoder()
    long._plain = lambda content: None  # type: ignore[method-assign]
    for content in (first, ",".join(texts), ",".join(texts), first):
        assert read(short, content.encode()) == read(long, content.encode())


@given(st.binary(max_size=60))
def test_any_bytes_are_indications_or_garbled(data: bytes) -> None:
    one = decoder()
    read(one, b"+1.00000000E+00")
    found = read(one, data)
    assert isinstance(found, str) or all(shown.raw in data for shown in found)


def test_the_short_way_is_taken_once_the_form_is_known() -> None:
    one = decoder()
    content = b"+1.00000000E+00,-2.00000000E-03"
    assert one._plain(content) is None
    read(one, content)
    assert one._plain(content) == [b"+1.00000000E+00", b"-2.00000000E-03"]
    shown = read(one, content)
    assert isinstance(shown, list)
    assert [(s.value, s.resolution, s.monotonic_ns) for s in shown] == [(1.0, 1e-8, 0), (-0.002, 1e-11, 1)]


def test_a_line_with_units_and_time_stamps() -> None:
    """Printed in the manual of a scanning meter (row sr-18 of the vectors)."""
    line = b"+1.23456789E-03VDC, +11.664SECS, +236RDNG, 000, 0000LIMITS"
    (shown,) = decoder("elements").indications(line, range)
    assert (shown.value, shown.unit, shown.coupling) == (0.00123456789, Unit.VOLT, Coupling.DC)
    two = decoder("elements").indications(line + b", " + line, range)
    assert [one.value for one in two] == [0.00123456789] * 2


def test_an_overload_keeps_its_unit_and_time_stamp() -> None:
    """Stated in the same manual."""
    (shown,) = decoder("elements").indications(b"+9.9E37VDC, +11.664SECS, +236RDNG, 000, 0000LIMITS", range)
    assert (shown.state, shown.unit) == (State.OVERLOAD, Unit.VOLT)


@pytest.mark.parametrize(
    "line",
    [
        b"+1.0VDC, +11.664SECS, +236RDNG, 000",
        b"+11.664SECS, +1.0VDC, +236RDNG, 000, 0000LIMITS",
        b"+1.0VDC, +236RDNG, +11.664SECS, 000, 0000LIMITS",
        b"+11.664SECS, +236RDNG, 000, 0000LIMITS, +1.0VDC",
    ],
)
def test_elements_out_of_their_order_are_refused(line: bytes) -> None:
    with pytest.raises(Garbled, match="not made of reading, time, number, channel, limit"):
        decoder("elements").indications(line, range)


@given(st.lists(st.floats(-1e19, 1e19), max_size=9))
def test_binary_blocks(values: list[float]) -> None:
    """IEEE 754, most significant byte first, against the standard library."""
    content = struct.pack(f">{len(values)}d", *values)
    shown = decoder(format="real64").indications(content, range)
    assert [one.value for one in shown] == values


@pytest.mark.parametrize("form", ["ascii", "real64"])
def test_what_a_dialect_sends_for_no_number_is_none_in_any_form(form: str) -> None:
    dialect = replace(find_dialect("memory-band"), not_a_number=8.8e9)
    plan = plan_of(Settings(options={"format": form}), dialect)
    content = b"+8.80000000E+09" if form == "ascii" else struct.pack(">d", 8.8e9)
    (shown,) = Decoder(plan, {1: plan.displays[0]}).indications(content, range)
    assert shown.state is State.INVALID
