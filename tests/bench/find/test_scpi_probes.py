"""Whether an answer to *IDN? is known as one. The answers are invented after IEEE 488.2, 10.14."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog_drivers.scpi.probes import QUESTION, probes, recognise


def test_the_question_is_a_query_that_changes_nothing() -> None:
    """IEEE 488.2, 10.14: identification query."""
    assert {probe.question for probe in probes()} == {b"*IDN?\n"}
    assert probes()[0].line.baud == 9600


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"])
def test_four_fields_are_an_identity(end: bytes) -> None:
    found = recognise(b"Some Maker, M-6500 ,0,1.2-3.4" + end)
    assert found is not None
    assert (found.maker, found.model, found.serial_number, found.version) == (
        "Some Maker",
        "M-6500",
        "",
        "1.2-3.4",
    )


def test_three_fields_with_quotes_are_enough() -> None:
    """The form of a 100 000-count hand-held meter."""
    found = recognise(b'Some Maker,"H-100",V1.0\r\n')
    assert found is not None
    assert found.text == 'Some Maker,"H-100",V1.0'


def test_an_echo_and_what_came_before_do_no_harm() -> None:
    found = recognise(b"+1.2345E-03\n" + QUESTION + b"Maker,Model,17,2\n")
    assert found is not None
    assert found.serial_number == "17"


@pytest.mark.parametrize(
    "heard",
    [
        b"",
        b"*IDN?\n",
        b"Maker,Model,17,2",  # no end yet: more of it may come
        b"+1.0,+2.0,+3.0,+4.0\n",
        b"one,two\n",
        b"Mak\xe9r,Model,17,2\n",  # wrong parity or speed
        b'-113,"Undefined header"\n',
        b"x" * 300 + b",Model,17,2\n",
    ],
)
def test_anything_else_is_none(heard: bytes) -> None:
    assert recognise(heard) is None


@given(st.binary(max_size=400))
def test_it_never_raises(heard: bytes) -> None:
    recognise(heard)
