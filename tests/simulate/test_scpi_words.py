"""Program messages."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from meterlog.simulate.scpi_words import Command, commands, number, pattern


@pytest.mark.parametrize(
    ("message", "headers"),
    [
        ("*IDN?", ["*IDN?"]),
        ("conf:volt:ac 10", ["CONF:VOLT:AC"]),
        (":SYST:ERR?", ["SYST:ERR?"]),
        # Going on at the same tree level, and back to the root: as two manuals print it.
        ("TRIG:SOUR EXT;COUN 10", ["TRIG:SOUR", "TRIG:COUN"]),
        ("SAMP:COUN 5;:INIT", ["SAMP:COUN", "INIT"]),
        # A common command does not change the level (IEEE 488.2).
        ("VOLT:AC:BAND 20;*OPC?;RANG 1", ["VOLT:AC:BAND", "*OPC?", "VOLT:AC:RANG"]),
        ("*ESR?;*STB?", ["*ESR?", "*STB?"]),
        ("", []),
        (" ; ;", []),
    ],
)
def test_headers(message: str, headers: list[str]) -> None:
    assert [command.header for command in commands(message)] == headers


def test_arguments() -> None:
    assert list(commands("CONF:VOLT:AC 10 V , DEF")) == [Command("CONF:VOLT:AC", ("10 V", "DEF"))]


@pytest.mark.parametrize(
    ("written", "legal", "illegal"),
    [
        (
            "SYSTem:ERRor[:NEXT]?",
            ["SYST:ERR?", "SYSTEM:ERROR:NEXT?", "SYST:ERROR?"],
            ["SYSTE:ERR?", "SYST:ERR", "SYS:ERR?"],
        ),
        (
            "[SENSe:]VOLTage:AC:RANGe[:UPPer]",
            ["VOLT:AC:RANG", "SENS:VOLTAGE:AC:RANGE:UPP"],
            ["VOLT:RANG", "SENS:VOLT:AC"],
        ),
        ("*OPC?", ["*OPC?"], ["OPC?", "**OPC?", "*OPC"]),
    ],
)
def test_only_the_short_and_the_long_form_are_legal(
    written: str, legal: list[str], illegal: list[str]
) -> None:
    assert all(pattern(written).fullmatch(header) for header in legal)
    assert not any(pattern(written).fullmatch(header) for header in illegal)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("10", 10.0),
        ("+1.5E-1", 0.15),
        (".5", 0.5),
        ("3.", 3.0),
        ("100 mV", 0.1),
        ("2 kHz", 2000.0),
        ("5V", 5.0),
    ],
)
def test_numbers_in_any_form_are_taken(text: str, value: float) -> None:
    assert number(text) == pytest.approx(value)


@pytest.mark.parametrize("text", ["", "nan", "inf", "1_000", "1,5", "ten", "10 dBu", "--1", "1e"])
def test_what_is_no_number(text: str) -> None:
    assert number(text) is None


@given(st.text(max_size=60))
@example(":")
def test_any_text_can_be_taken_apart(text: str) -> None:
    for command in commands(text):
        assert command.header
        assert all(number(argument) is None or argument for argument in command.arguments)
