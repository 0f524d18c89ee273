"""A record damaged by hand: the row is named, nothing else is made of it."""

import shutil
import sqlite3
from pathlib import Path

import httpx
import pytest

from meterlog.daemon.access import TOKEN_HEADER
from meterlog.records import DataFolder, RecordsError, replay
from tests.daemon.desk import PATIENCE_S
from tests.daemon.process import meterlog, served

DAMAGE = [
    ("update actions set kind = 'zap'", "actions"),
    ("update documents set text = 'garbage'", "SHA-256"),
]


@pytest.fixture(scope="module")
def recorded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("whole")
    with served(folder) as daemon:
        begun = httpx.post(
            f"{daemon.url}/api/sessions",
            json={"procedure": "two", "unit_model": "Recorder"},
            headers={TOKEN_HEADER: daemon.token},
            timeout=PATIENCE_S,
        )
        assert begun.status_code == 200, begun.text
        daemon.process.terminate()
        daemon.end()
    return folder / "data"


@pytest.mark.parametrize(("change", "named"), DAMAGE)
def test_a_damaged_row_is_named(recorded: Path, tmp_path: Path, change: str, named: str) -> None:
    copy = tmp_path / "data"
    shutil.copytree(recorded, copy)
    connection = sqlite3.connect(copy / "meterlog.sqlite3")
    connection.execute(change)
    connection.commit()
    connection.close()
    with pytest.raises(RecordsError, match=named):
        replay(DataFolder(copy).open(), 1)
    said = meterlog("replay", "1", "--data", copy)
    assert said.returncode == 4
    assert "Traceback" not in said.stderr
    assert named in said.stderr


@pytest.mark.parametrize("command", [("sessions",), ("report", "1"), ("backup", "x.db"), ("replay", "1")])
def test_reading_where_nothing_is_recorded_makes_nothing(tmp_path: Path, command: tuple[str, ...]) -> None:
    said = meterlog(*command, "--data", tmp_path / "absent")
    assert said.returncode == 4
    assert "no record in" in said.stderr
    assert not (tmp_path / "absent").exists()
