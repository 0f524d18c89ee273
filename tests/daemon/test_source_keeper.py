"""A table run by the daemon with a source on a real socket: no pedal, all in the record, replay the same.

The unit is the simulated phono equaliser, whose curve is that of IEC 60098 but for one resistor (invented).
"""

import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from meterlog.accuracy import Verdict
from meterlog.bench import DrivenSource, SourceEntry, SourceError, SystemClock, load_source_driver
from meterlog.daemon.source_keeper import SourceKeeper
from meterlog.procedure import Acted, ActionKind, Engine, SettledValue, StepEnded
from meterlog.quantity import VOLT, Quantity
from meterlog.simulate.bench import SimulatedBench
from meterlog.simulate.clock import RunningClock
from meterlog.simulate.scenarios.phono import Phono
from meterlog.simulate.scpi_server import ScpiServer
from meterlog.simulate.scpi_source import ScpiSource
from tests.daemon.desk import NS, Desk, procedure, reading, wait_until

TABLE = """
[procedure]
title = "Replay curve"
revision = "1"
unit = "Any"
[[channel]]
name = "output"
unit = "V"
coupling = "ac"
show = "dBu"
[[step]]
id = "curve"
title = "Replay curve"
pattern = "table"
channel = "output"
curve = "riaa"
reference_row = "1 kHz"
level = "5 mV"
tolerance = "0.5 dB"
settle = "0.1 dB"
dwell = "0.8 s"
[[step.row]]
at = "100 Hz"
[[step.row]]
at = "1 kHz"
[[step.row]]
at = "10 kHz"
"""


SET = (
    TABLE.partition("[[step]]")[0]
    + """
[[step]]
id = "tone"
title = "Tone"
pattern = "set-source"
channel = "output"
target = "TARGET"
tolerance = "1 dB"
frequency = "1 kHz"
level = "5 mV"
[[step]]
id = "after"
title = "After"
pattern = "measure"
channel = "output"
settle = "0.1 dB"
"""
)


class Holding(DrivenSource):
    """Answers when it is let go."""

    def __init__(self) -> None:
        self.name = "slow generator"
        self.asked = threading.Event()
        self.let_go = threading.Event()
        self.fault = ""

    def set(self, frequency_hz: float | None, level_v: float | None) -> str:
        self.asked.set()
        assert self.let_go.wait(60)
        if self.fault:
            raise SourceError(self.fault)
        return f"{frequency_hz:g} Hz, {level_v:g} V"

    def close(self) -> None:
        pass


class Worked:
    """A desk with a source and a unit that the source moves."""

    def __init__(self, folder: Path) -> None:
        self.desk = Desk(folder)
        self.unit = SimulatedBench(Phono(), RunningClock())
        self.server = ScpiServer("source", lambda _: ScpiSource(self.unit))
        self.server.plug()
        entry = SourceEntry.model_validate(
            {"name": "generator", "driver": "scpi", "address": self.server.address}
            | {"most": Quantity(2.0, VOLT), "options": {"amplitude": "rms"}}
        )
        self.keep(DrivenSource(entry, load_source_driver("scpi"), SystemClock()))

    def keep(self, source: DrivenSource) -> None:
        self.keeper = SourceKeeper(source, self.desk.runner.deliver)

    steps = TABLE

    def __enter__(self) -> "Worked":
        self.desk.runner.start(self.keeper)
        self.keeper.start()
        self.desk.begin(self.steps)
        return self

    def __exit__(self, *_: object) -> None:
        self.desk.runner.stop()
        self.keeper.stop()
        self.server.close()

    def said(self) -> list[ActionKind]:
        return [event.kind for event in self.desk.writer.events if isinstance(event, Acted)]

    def text_of(self, kind: ActionKind) -> list[str]:
        events = [event for event in self.desk.writer.events if isinstance(event, Acted)]
        return [event.text for event in events if event.kind is kind]

    def wait_for(self, kind: ActionKind, times: int) -> None:
        wait_until(lambda: self.said().count(kind) >= times)
        self.desk.barrier()

    def measure(self, seconds: float = 4.0) -> None:
        for _ in range(round(seconds / 0.2)):
            self.desk.clock.now_ns += NS // 5
            volts = self.unit.outputs(self.unit.now_s())["output"]
            self.desk.runner.deliver(reading(self.desk.clock.now_ns, round(volts, 6), resolution=1e-6))
            self.desk.barrier()

    def settled(self) -> list[SettledValue]:
        return [one for one in self.desk.writer.stored if isinstance(one, SettledValue)]

    def guide(self) -> str:
        self.desk.barrier()
        assert self.desk.runner.running is not None
        return self.desk.runner.running.view.guide.do_now


@pytest.fixture
def worked(tmp_path: Path) -> Iterator[Worked]:
    worked = Worked(tmp_path)
    yield worked
    worked.server.close()


def test_a_whole_table_without_a_pedal_and_its_replay_is_the_same(worked: Worked) -> None:
    with worked:
        for row in range(1, 4):
            worked.wait_for(ActionKind.SOURCE_SET, row)
            worked.measure()
    values = worked.settled()
    assert [value.condition for value in values] == ["1 kHz", "100 Hz", "10 kHz"]
    assert [value.verdict for value in values[1:]] == [Verdict.PASS, Verdict.PASS]
    ended = [one for one in worked.desk.writer.stored if isinstance(one, StepEnded)]
    assert ended[0].verdict is Verdict.PASS
    assert ActionKind.GO_ON not in worked.said()
    assert worked.text_of(ActionKind.SOURCE_ASKED)[0] == "1000 Hz, 0.005 V for Replay curve, 1 kHz"
    frequencies = [text.partition(",")[0] for text in worked.text_of(ActionKind.SOURCE_SET)]
    assert frequencies == ["1000 Hz", "100 Hz", "10000 Hz"]
    again = Engine(procedure(TABLE))
    outcomes = [one for event in worked.desk.writer.events for one in again.apply(event)]
    assert outcomes == worked.desk.writer.stored


def test_a_step_that_sets_the_source_has_it_set(worked: Worked) -> None:
    """40 dB of gain at 1 kHz (invented): 5 mV at the source, 0.5 V at the meter; nobody turns anything."""
    worked.steps = SET.replace("TARGET", "0.5 V")
    with worked:
        worked.wait_for(ActionKind.SOURCE_SET, 1)
        worked.measure()
    assert worked.text_of(ActionKind.SOURCE_ASKED) == ["1000 Hz, 0.005 V for Tone"]
    assert worked.text_of(ActionKind.SOURCE_SET)[0].startswith("1000 Hz, 0.005 V")
    ended = [one for one in worked.desk.writer.stored if isinstance(one, StepEnded)]
    assert ended[0].verdict is Verdict.PASS
    assert ActionKind.GO_ON not in worked.said()
    again = Engine(procedure(worked.steps))
    outcomes = [one for event in worked.desk.writer.events for one in again.apply(event)]
    assert outcomes == worked.desk.writer.stored


def test_nobody_is_told_to_press_while_the_source_is_being_set(worked: Worked) -> None:
    holding = Holding()
    worked.keep(holding)
    with worked:
        assert holding.asked.wait(60)
        assert worked.guide() == "Setting the source to 1 kHz and 5 mV."
        guides = [live["view"]["guide"] for live in worked.desk.hub.lives if live["view"]]
        assert guides
        assert not any(guide["awaiting_go_on"] for guide in guides)
        holding.let_go.set()
        worked.wait_for(ActionKind.SOURCE_SET, 1)
        assert worked.guide() == "1 kHz: hands off, measuring."


def test_a_source_that_is_not_there_leaves_the_row_to_the_hand(worked: Worked) -> None:
    worked.server.unplug()
    with worked:
        worked.wait_for(ActionKind.SOURCE_FAILED, 1)
        assert worked.guide().startswith("The bench could not set the source: ")
        assert worked.guide().endswith("Set the source to 1 kHz and 5 mV by hand, then press.")
        worked.unit.set({"oscillator": True, "frequency_hz": 1000.0})
        worked.desk.press()
        worked.server.plug()
        worked.measure()
        worked.wait_for(ActionKind.SOURCE_SET, 1)
        worked.measure()
    assert [value.condition for value in worked.settled()][:2] == ["1 kHz", "100 Hz"]


def test_an_answer_after_a_pause_is_none_to_what_is_asked_then(worked: Worked) -> None:
    holding = Holding()
    worked.keep(holding)
    with worked:
        assert holding.asked.wait(60)
        worked.desk.runner.act(ActionKind.PAUSE)
        worked.desk.runner.act(ActionKind.RESUME)
        worked.desk.barrier()
        holding.fault = "late, and of the first question"
        assert worked.said().count(ActionKind.SOURCE_ASKED) == 2
        holding.let_go.set()
        worked.wait_for(ActionKind.SOURCE_FAILED, 1)
    assert worked.said().count(ActionKind.SOURCE_FAILED) == 1
    assert [kind for kind in worked.said() if kind.startswith("source")][:2] == ["source-asked"] * 2


def test_the_session_stores_while_the_source_is_slow(worked: Worked) -> None:
    """The session's thread never waits for it."""
    holding = Holding()
    worked.keep(holding)
    with worked:
        assert holding.asked.wait(60)
        assert worked.desk.runner.act(ActionKind.NOTE, "still here").accepted
        holding.let_go.set()
