"""Damage is found, copies are whole."""

import shutil
from pathlib import Path

import pytest
from sqlalchemy import Engine, text

from meterlog.records import (
    DataFolder,
    RecordsError,
    Writer,
    backup,
    iter_events,
    list_sessions,
    open_engine,
)
from meterlog.records.engine import database_file
from meterlog.records.soundness import refuse_damaged
from tests.records import samples


def _fill(engine: Engine, events: int = 3000) -> None:
    writer = Writer(engine)
    session = writer.begin_session(samples.START)
    for sequence in range(1, events + 1):
        writer.event(session, sequence, samples.measured(sequence))
    writer.close()


def _damage(path: Path) -> None:
    """64 bytes at the head of three pages of the middle (a page is 4096 bytes)."""
    with path.open("r+b") as file:
        for page in (20, 25, 30):
            file.seek(page * 4096)
            file.write(bytes(range(64)))


def test_damage_is_found_and_nothing_deleted(tmp_path: Path) -> None:
    folder = DataFolder(tmp_path)
    engine = folder.open_checked()
    _fill(engine)
    engine.dispose()
    _damage(folder.database)
    size = folder.database.stat().st_size
    with pytest.raises(RecordsError, match=r"is damaged .*; move it and its -wal and -shm files to a safe"):
        folder.open_checked()
    assert folder.database.stat().st_size == size

    folder.database.rename(tmp_path / "damaged.sqlite3")  # as the message says
    fresh = folder.open_checked()
    assert list_sessions(fresh) == []
    fresh.dispose()


def test_a_sound_file_passes_and_a_look_ends_in_time(engine: Engine) -> None:
    _fill(engine)
    assert refuse_damaged(engine, most_s=60.0)
    assert not refuse_damaged(engine, most_s=-1.0)
    assert len(list_sessions(engine)) == 1  # the connection serves on


def test_a_backup_is_whole_while_the_copied_file_is_not(engine: Engine, tmp_path: Path) -> None:
    _fill(engine, 50)
    with engine.begin() as reader:  # as any open reader, keeps the log from going into the file
        reader.execute(text("SELECT * FROM sessions")).all()
        _fill(engine, 50)
        loose, whole = tmp_path / "loose.sqlite3", tmp_path / "whole.sqlite3"
        shutil.copy(database_file(engine), loose)
        backup(engine, whole)
    copied, backed_up = open_engine(loose), open_engine(whole)
    assert len(list_sessions(backed_up)) == 2
    assert len(list(iter_events(backed_up, 2))) == 50
    with pytest.raises((RecordsError, AssertionError)):
        assert len(list_sessions(copied)) == 2
    copied.dispose()
    backed_up.dispose()
    assert not list(tmp_path.glob("*.partial"))


def test_a_backup_overwrites_nothing(engine: Engine, tmp_path: Path) -> None:
    there = tmp_path / "there.sqlite3"
    there.write_text("precious")
    with pytest.raises(RecordsError, match="overwrites nothing, choose another name"):
        backup(engine, there)
    assert there.read_text() == "precious"


def test_a_backup_that_cannot_be_made_leaves_no_part(engine: Engine, tmp_path: Path) -> None:
    with pytest.raises(RecordsError, match=r"no backup at .*cannot be opened"):
        backup(engine, tmp_path / "absent" / "copy.sqlite3")
    assert not (tmp_path / "absent").exists()


def test_a_partial_copy_of_a_killed_backup_is_no_hindrance(engine: Engine, tmp_path: Path) -> None:
    (tmp_path / "copy.sqlite3.partial").write_bytes(b"half")
    backup(engine, tmp_path / "copy.sqlite3")
    assert [one.name for one in tmp_path.glob("copy*")] == ["copy.sqlite3"]
