"""The dialogues of prompting and letter-polled meters (scpi_dialogues.toml; its head names its sources)."""

import pytest

from meterlog.reading import Garbled, Indication, Refused, Unanswered
from meterlog.testing import FakeClock, FakeWire
from meterlog_drivers.declared.ascii import driver
from meterlog_drivers.declared.described import find_file
from meterlog_drivers.declared.line_decoder import LineDecoder
from meterlog_drivers.declared.line_file import load_lines
from meterlog_drivers.declared.line_model import Command
from meterlog_drivers.declared.line_plan import KIND
from meterlog_drivers.declared.line_talk import Talk
from tests.drivers.declared.kit import Script, connected, settings
from tests.drivers.vectors import dialogue

SELECTED = {b"VDC\r": [(0.01, b"VDC\r\n=>\r\n")]}


def as_written(shown: Indication) -> str:
    return " ".join(str(part) for part in (shown.value, shown.unit, shown.coupling) if part)


def test_09_echo_and_prompt() -> None:
    script = dialogue("dl-09")
    far_end = Script([script["steps"][0], script["steps"][0]], SELECTED)
    meter, wire = connected(settings("echo-prompt"), far_end)
    (shown,) = meter.poll(1.0)
    assert [str(shown.value)] == script["expect"]["readings"]
    assert wire.written == [b"\x03", b"VDC\r", b"VAL?\r", b"\x03", b"VAL?\r"]


def test_09_a_command_that_is_not_understood() -> None:
    far_end = Script(dialogue("dl-09")["steps"][1:])
    tables = load_lines(find_file("echo-prompt", KIND)).tables
    assert tables.ask
    clock = FakeClock()
    talk = Talk(FakeWire(clock, far_end), LineDecoder.of(tables), tables.ask, clock)
    with pytest.raises(Refused, match="FOO is not understood"):
        talk.tell(Command(send="FOO"))
    assert far_end.left == []


def test_10_an_old_handheld_polled_by_a_letter() -> None:
    script = dialogue("dl-10")
    first, none, over = script["steps"]
    far_end = Script([first, first, none, over, over])
    wanted = settings("polled-letter")
    line = driver.line_for(wanted)
    assert str(line) == "1200 baud 7N2"
    assert (line.dtr, line.rts) == (script["control"]["dtr"], script["control"]["rts"])
    meter, _ = connected(wanted, far_end)
    (shown,) = meter.poll(1.0)
    with pytest.raises(Unanswered, match="nothing came"):
        meter.poll(1.0)
    with pytest.raises(Garbled, match="in step"):
        meter.poll(1.0)
    meter.resynchronise()
    (over,) = meter.poll(1.0)
    seen = [as_written(shown), "timeout", f"{over.state} {over.unit}"]
    assert seen == script["expect"]["readings"]
    assert far_end.left == []
