"""Described meters over a real pseudo-terminal, through a link of the bench."""

import threading
from pathlib import Path

import pytest

from meterlog.bench import Link, LinkState, SystemClock
from meterlog.reading import Driver
from meterlog.testing import HURRIED, PATIENCE_S, Terminal, Witness
from meterlog_drivers.declared.ascii import driver
from tests.bench.kit import channel, entry

pytestmark = pytest.mark.wire


def link_to(path: str, chosen: Driver, dialect: str, witness: Witness) -> Link:
    return Link(
        entry(path, chosen.name, dialect=dialect),
        [channel()],
        chosen,
        SystemClock(),
        deliver=witness.deliver,
        on_state=witness.on_state,
        pace=HURRIED,
    )


def test_a_meter_that_talks_by_itself(tmp_path: Path) -> None:
    witness = Witness()
    with Terminal(tmp_path / "adapter") as terminal:
        link = link_to(terminal.path, driver, "function-number-unit", witness)
        link.start()
        with terminal.talking(b"DCV -1.2345 mV \r\n"):
            witness.wait_for_readings(3)
        witness.wait_for_state(LinkState.STALE)
        assert link.stop(PATIENCE_S)
    assert {(one.value, one.unit, one.channel) for one in witness.readings} == {(-0.0012345, "V", "panel")}
    identity = link.status.identity
    assert identity
    assert identity.text.startswith("function, number, unit (dialect ")


def test_a_meter_that_is_asked(tmp_path: Path) -> None:
    answers = {b"VDC": b"=>\r\n", b"VAL?": b"+1.2345E+0\r\n=>\r\n"}
    witness, stop = Witness(), threading.Event()
    with Terminal(tmp_path / "adapter") as terminal:

        def answer() -> None:
            while not stop.is_set():
                for command in terminal.heard(0.1).split(b"\r"):
                    terminal.send(answers.get(command, b""))

        far_end = threading.Thread(target=answer)
        far_end.start()
        link = link_to(terminal.path, driver, "prompt", witness)
        link.start()
        witness.wait_for_readings(3)
        assert link.stop(PATIENCE_S)
        stop.set()
        far_end.join()
    assert {one.value for one in witness.readings} == {1.2345}
