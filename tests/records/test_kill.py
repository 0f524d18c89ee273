"""Killed at any moment: whatever was announced is in the record, whole, with every reading it rests on."""

import os
import random
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from sqlalchemy import Engine

from meterlog.procedure.events import Measured
from meterlog.records import DataFolder, iter_events, load_session, unfinished_session
from tests.records import samples

ROOT = Path(__file__).parents[2]
ROUNDS = 12


def _killed(folder: Path, announcements: int) -> tuple[int, int]:
    """Session and highest number announced of a child killed in the midst of what comes next."""
    with subprocess.Popen(
        [sys.executable, str(Path(__file__).with_name("kill_child.py")), str(folder)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        text=True,
    ) as child:
        assert child.stdout is not None
        session = int(child.stdout.readline())
        for _ in range(announcements):
            child.stdout.readline()
        child.send_signal(signal.SIGKILL)
        rest = [line for line in child.stdout.read().split("\n")[:-1] if line]
        child.wait()
    return session, announcements + len(rest)


def _check(engine: Engine, session: int, announced: int) -> None:
    values = load_session(engine, session).settled_values
    stored = len(values)
    assert stored >= announced
    assert values == tuple(samples.settled(number, 1 / number) for number in range(1, stored + 1))
    events = list(iter_events(engine, session))
    assert [sequence for sequence, _ in events] == list(range(1, len(events) + 1))
    assert len(events) >= 5 * stored
    assert all(isinstance(one, Measured) and one.reading.value == 1 / number for number, one in events)


@pytest.mark.slow
@pytest.mark.timeout(600)
def test_nothing_announced_is_lost_by_a_kill(tmp_path: Path) -> None:
    rolls = random.Random(4)
    for _ in range(ROUNDS):
        session, announced = _killed(tmp_path, rolls.randrange(60))
        folder = DataFolder(tmp_path)
        with folder.hold():  # the lock of the dead process went with it
            engine = folder.open_checked()
            assert unfinished_session(engine) == session
            with engine.begin() as connection:
                assert connection.exec_driver_sql("PRAGMA integrity_check").scalar_one() == "ok"
            _check(engine, session, announced)
            engine.dispose()
    assert session == ROUNDS
