"""Each line of the vector file through the dialect file that ships for its shape."""

import pytest

from meterlog.quantity import Unit
from meterlog.reading import Coupling, Refused, State
from meterlog.testing import FakeClock, FakeWire
from meterlog_drivers.declared.described import find_file
from meterlog_drivers.declared.line_decoder import Decoded, LineDecoder
from meterlog_drivers.declared.line_file import load_lines
from meterlog_drivers.declared.line_model import Tables
from meterlog_drivers.declared.line_plan import KIND
from meterlog_drivers.declared.line_talk import Talk
from tests.drivers.vectors import rows

FILES = {
    "prefix4": "status-function-number",
    "suffix5": "number-mark-unit",
    "value-unit": "number-unit",
    "fn-value-unit": "function-number-unit",
    "prompt": "prompt",
    "echo-prompt": "echo-prompt",
    "fixed-sd": "constant-length",
}
ROWS = rows("line_dialects.csv")
REFUSALS = {"command_error": "not understood", "execution_error": "not possible"}


def described(dialect: str) -> Tables:
    return load_lines(find_file(FILES[dialect], KIND)).tables


def decoded(row: dict[str, str]) -> Decoded:
    """As an asked meter's driver comes to it: the answer to the dialect's own question."""
    tables = described(row["dialect"])
    data = bytes.fromhex(row["hex"])
    decoder = LineDecoder.of(tables)
    if tables.ask is None:
        (cut,) = decoder.cutter(begun=True).feed(data, 0)
        return decoder.decode(cut, {})
    clock = FakeClock()
    wire = FakeWire(clock, lambda line: [(0.01, data)])
    talk = Talk(wire, decoder, tables.ask, clock)
    return decoder.decode(talk.ask(tables.ask.reading), {})


def test_every_dialect_of_the_file_has_its_description() -> None:
    assert {row["dialect"] for row in ROWS} == set(FILES)


def of(*expected: str) -> list[dict[str, str]]:
    return [row for row in ROWS if row["expect"] in expected]


def identity(row: dict[str, str]) -> str:
    return row["id"]


@pytest.mark.parametrize("row", of("reading"), ids=identity)
def test_a_reading(row: dict[str, str]) -> None:
    shown, *others = decoded(row).indications
    assert (shown.state, shown.value) == (State.OK, float(row["value"]))
    assert shown.unit == Unit(row["unit"])
    assert shown.function == row["function"]
    assert shown.coupling == Coupling(row["coupling"])
    told, _, what = row["flags"].partition("=")
    assert shown.flags == ({row["flags"]} if told == "store" else set())
    assert [f"{one.value} {one.unit}" for one in others] == ([what] if told == "second" else [])
    assert [one.display for one in others] == [2] * len(others)


@pytest.mark.parametrize("row", of("overload", "overload-neg"), ids=identity)
def test_an_overload_has_no_number(row: dict[str, str]) -> None:
    (shown,) = decoded(row).indications
    assert (shown.state, shown.value) == (State.OVERLOAD, None)
    assert (shown.unit, shown.function) == (Unit(row["unit"]), row["function"])


@pytest.mark.parametrize("row", of("device_error"), ids=identity)
def test_the_number_of_an_error_is_no_reading(row: dict[str, str]) -> None:
    said = decoded(row)
    assert (said.indications, said.error) == ((), row["value"])


@pytest.mark.parametrize("row", of("command_error", "execution_error"), ids=identity)
def test_a_prompt_that_refuses(row: dict[str, str]) -> None:
    with pytest.raises(Refused, match=REFUSALS[row["expect"]]):
        decoded(row)


@pytest.mark.parametrize("row", of("list"), ids=identity)
def test_several_readings_in_one_line(row: dict[str, str]) -> None:
    assert [one.value for one in decoded(row).indications] == [float(one) for one in row["value"].split()]


def test_each_row_is_looked_at() -> None:
    looked_at = of("reading", "overload", "overload-neg", "device_error", *REFUSALS, "list")
    assert [row["id"] for row in looked_at] == [row["id"] for row in ROWS]
