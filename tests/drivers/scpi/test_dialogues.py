"""The written dialogues, each with a fake instrument that answers as the script says.

What a script does not mention but every instrument knows (*CLS, *OPC?, *IDN?, *ESR?, an empty error
queue) is answered all the same, for a driver may ask more than the script. dl-13 is in test_fs9721.
"""

from pathlib import Path
from typing import Any

import pytest

from meterlog.reading import Coupling, Garbled, Indication, Options, Settings, Unanswered
from meterlog.testing import Chunks, FakeClock, FakeWire
from meterlog_drivers.scpi.answers import (
    DeviceError,
    parse_elements,
    parse_integer,
    parse_text,
    split_compound,
)
from meterlog_drivers.scpi.conversation import Conversation
from meterlog_drivers.scpi.dialect_file import find_dialect
from meterlog_drivers.scpi.driver import driver
from meterlog_drivers.scpi.setup import choose_ac_filter
from tests.drivers.vectors import dialogue

Step = dict[str, Any]
COMMON: dict[str, Chunks] = {
    "*CLS": (),
    "*OPC?": [(0.002, b"1\n")],
    "*IDN?": [(0.002, b"ACME,M1,123,1.0\n")],
    "*ESR?": [(0.002, b"0\n")],
    "*STB?": [(0.002, b"0\n")],
    "SYST:ERR?": [(0.002, b'0,"No error"\n')],
    "FUNC?": (),
}


class Script:
    """Insists on the steps in their order, lets common questions pass."""

    def __init__(self, steps: list[Step]) -> None:
        self.left = list(steps)

    def __call__(self, line: bytes) -> Chunks:
        if self.left and line.decode() == self.left[0]["tx"]:
            return [(chunk["ms"] / 1e3, chunk["data"].encode()) for chunk in self.left.pop(0)["rx"]]
        command = line.decode().strip()
        assert command in COMMON, f"{command} is not in the script; next is {self.left[:1]}"
        return COMMON[command]


def wired(steps: list[Step]) -> tuple[FakeWire, FakeClock, Script]:
    clock, script = FakeClock(), Script(steps)
    return FakeWire(clock, script), clock, script


def talking(identity: str) -> tuple[Conversation, Script]:
    wire, clock, script = wired(dialogue(identity)["steps"])
    return Conversation(wire, clock), script


CONFIGURED: list[Step] = [{"tx": "CONF:VOLT:DC\n", "rx": []}]


def as_written(shown: Indication) -> str:
    return f"{shown.value:.9g} {shown.unit} {shown.coupling}"


def test_01_identify_configure_read() -> None:
    script = dialogue("dl-01")
    wire, clock, steps = wired(script["steps"])
    meter = driver.connect(wire, Settings(coupling=Coupling.DC), clock)
    (shown,) = meter.poll(1.0)
    assert [as_written(shown)] == script["expect"]["readings"]
    assert clock.now_ns - shown.monotonic_ns == 350_000_000, "dated when the question was sent"
    assert steps.left == []


def test_02_a_slow_answer_in_three_chunks() -> None:
    script = dialogue("dl-02")
    steps = [
        {"tx": "CONF:VOLT:AC\n", "rx": []},
        {"tx": "VOLT:AC:BAND 3\n", "rx": []},
        *script["steps"],
    ]
    wire, clock, _ = wired(steps)
    settings = Settings(coupling=Coupling.AC, ac_filter_hz=3.0, dialect="band")
    meter = driver.connect(wire, settings, clock)
    assert [as_written(shown) for shown in meter.poll(1.0)] == script["expect"]["readings"]


def test_03_a_late_answer_is_never_taken_for_the_next() -> None:
    wire, clock, steps = wired([*CONFIGURED, *dialogue("dl-03")["steps"]])
    meter = driver.connect(wire, Settings(coupling=Coupling.DC), clock)
    with pytest.raises(Unanswered, match=r"READ\?"):
        meter.poll(1.0)
    with pytest.raises(Garbled, match="in step"):
        meter.poll(1.0)
    meter.resynchronise()
    assert [shown.value for shown in meter.poll(1.0)] == [2.0]
    assert steps.left == []


def test_04_a_command_of_another_dialect() -> None:
    """A filter for 30 Hz and above: 20 is the step of the first dialect, 30 that of the second."""
    conversation, script = talking("dl-04")
    seen: list[int] = []

    def send(command: str) -> list[DeviceError]:
        conversation.tell(command)
        errors = conversation.read_errors()
        seen.extend(error.number for error in errors)
        return errors

    plain = find_dialect("plain")
    chosen = choose_ac_filter(send, plain.ac_filter, "VOLT:AC", 30.0, plain.errors.unknown)
    assert chosen == plain.ac_filter[1]
    assert seen == dialogue("dl-04")["expect"]["errors"]
    assert script.left == []


def test_05_several_errors_wait_in_the_queue() -> None:
    conversation, script = talking("dl-05")
    assert [error.number for error in conversation.read_errors()] == dialogue("dl-05")["expect"]["errors"]
    assert script.left == []


def test_06_fetch_without_a_valid_measurement() -> None:
    conversation, script = talking("dl-06")
    with pytest.raises(Unanswered, match="nothing came"):
        conversation.ask("FETC?")
    conversation.synchronise()
    assert [error.number for error in conversation.read_errors()] == dialogue("dl-06")["expect"]["errors"]
    assert script.left == []


def test_07_a_serial_meter_not_yet_in_remote() -> None:
    """Without the option as the script has it; with it the refusal never comes."""
    steps = dialogue("dl-07")["steps"]
    wire, clock, script = wired(steps)
    driver.connect(wire, Settings(), clock)
    assert script.left == []
    wire, clock, script = wired(steps[2:])
    driver.connect(wire, Settings(options={"remote": True}), clock)
    assert script.left == []


COUNTED = """
like = "memory-band"
[memory]
arm = ["SAMP:COUN {count};:INIT"]
question = "R?"
stop = ""
"""
"""A memory that takes a count and whose question asks for all that is there, as the script has it."""


def _value_or_state(shown: Indication) -> str:
    return shown.state.value if shown.value is None else f"{shown.value:.8f}"


def test_08_buffered_reading(tmp_path: Path) -> None:
    script = dialogue("dl-08")
    (tmp_path / "counted.toml").write_text(COUNTED)
    wire, clock, steps = wired([*CONFIGURED, *script["steps"]])
    options: Options = {"buffered": True, "samples": 5}
    settings = Settings(dialect=str(tmp_path / "counted.toml"), options=options)
    meter = driver.connect(wire, settings, clock)
    armed_ns = clock.now_ns
    found: list[Indication] = []
    while steps.left:
        found += meter.poll(1.0)
    assert [_value_or_state(shown) for shown in found] == script["expect"]["readings"]
    dates = [shown.monotonic_ns for shown in found]
    assert dates == sorted(dates)
    assert dates[0] >= armed_ns - 10_000_000
    assert dates[-1] <= clock.now_ns


def test_11_the_error_queue_of_an_instrument_that_corrects_a_setting() -> None:
    """The script is a generator's; the conversation and the error queue are the same."""
    conversation, script = talking("dl-11")
    conversation.tell("APPL:SIN 1000,20,0")
    (error,) = conversation.read_errors()
    assert (error.number, error.information) == (-222, "value clipped to upper limit")
    (level,) = parse_elements(conversation.ask("VOLT?").content)
    assert f"{level.value:g} Vpp" == dialogue("dl-11")["expect"]["set"]
    assert parse_text(conversation.ask("VOLT:UNIT?").content) == "VPP"
    assert script.left == []


def test_12_two_queries_in_one_message() -> None:
    conversation, _ = talking("dl-12")
    esr, stb = (
        parse_integer(part.encode()) for part in split_compound(conversation.ask("*ESR?;*STB?").content)
    )
    expected = dialogue("dl-12")["expect"]
    assert (esr, stb) == (expected["esr"], expected["stb"])
