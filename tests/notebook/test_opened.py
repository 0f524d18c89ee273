"""The record is read beside whoever writes it, and never changed; what is missing is told."""

import sys
from importlib import import_module
from pathlib import Path

import pytest
from sqlalchemy import text

from meterlog import notebook
from meterlog.notebook.opened import opened
from meterlog.records import DataFolder, RecordsError
from meterlog.records.migrate import revision_of
from tests.report.recorded import Recorded


def test_it_reads_while_a_daemon_writes(tmp_path: Path) -> None:
    place = DataFolder(tmp_path)
    with place.hold():
        engine = place.open_checked()
        with Recorded(engine) as session:
            session.settle_at(15.0)
            with engine.execution_options(writes=True).begin():  # it holds the write lock
                assert notebook.settled(tmp_path, 1).height == 1
            session.redo("wrong lead")
            session.settle_at(15.1)
            assert notebook.settled(tmp_path, 1)["counts"].to_list() == ["no", "yes"]
        engine.dispose()


def test_nothing_can_be_written(folder: Path) -> None:
    with opened(folder) as engine, pytest.raises(Exception, match="readonly"), engine.begin() as connection:
        connection.execute(text("DELETE FROM readings"))


def test_a_record_of_an_earlier_version_is_left_as_it_is(tmp_path: Path) -> None:
    place = DataFolder(tmp_path)
    engine = place.open()
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '0004'"))
    with pytest.raises(RecordsError, match=r"earlier version.*meterlog sessions --data"):
        notebook.sessions(tmp_path)
    assert revision_of(engine) == "0004"
    assert list(tmp_path.glob("*.sqlite3")) == [place.database]  # no copy from before a change either
    engine.dispose()


def test_what_is_not_there_is_told(folder: Path, tmp_path: Path) -> None:
    with pytest.raises(RecordsError, match="no record in"):
        notebook.sessions(tmp_path / "nowhere")
    assert not (tmp_path / "nowhere").exists()
    with pytest.raises(notebook.RecordsError, match="no session 9"):
        notebook.settled(folder, 9)


def test_without_polars_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "polars", None)
    monkeypatch.delitem(sys.modules, "meterlog.notebook")
    with pytest.raises(ImportError, match=r'pip install "meterlog\[notebook\]"'):
        import_module("meterlog.notebook")
