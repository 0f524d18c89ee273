"""The data folder and who holds it."""

import os
import subprocess
import sys
from pathlib import Path

import platformdirs
import pytest
from sqlalchemy import insert

from meterlog.records import DataFolder, RecordsError, list_sessions, schema
from meterlog.records.engine import for_writing
from meterlog.records.migrate import newest_revision, revision_of

ROOT = Path(__file__).parents[2]


def test_the_default_is_the_place_for_data_of_programs() -> None:
    assert DataFolder().path == platformdirs.user_data_path("meterlog", appauthor=False)


def test_an_absent_folder_is_made_with_an_empty_record(tmp_path: Path) -> None:
    folder = DataFolder(tmp_path / "one" / "two")
    engine = folder.open()
    assert revision_of(engine) == newest_revision()
    assert list_sessions(engine) == []
    assert not list(folder.path.glob("meterlog-schema-*"))  # nothing was there to copy
    engine.dispose()


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(RecordsError, match="cannot be made: Not a directory; choose another one with --data"):
        DataFolder(tmp_path / "file" / "data").open()


def test_a_lock_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    folder = DataFolder(tmp_path)
    folder.lock.mkdir()
    with pytest.raises(RecordsError, match="cannot be written: Is a directory; look who owns"), folder.hold():
        pass


def test_a_look_that_was_cut_short_is_logged(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    folder = DataFolder(tmp_path)
    engine = folder.open()
    with for_writing(engine).begin() as connection:
        texts = [{"digest": str(number), "kind": "bench", "text": "x" * 99} for number in range(5000)]
        connection.execute(insert(schema.documents), texts)
    engine.dispose()
    folder.open_checked(most_s=-1.0).dispose()
    assert "only a part was checked" in caplog.text


def test_a_second_holder_is_told_who_holds_it(tmp_path: Path) -> None:
    folder = DataFolder(tmp_path)
    with folder.hold():
        engine = folder.open_checked()  # the holder itself is not shut out
        engine.dispose()
        attempt = (
            "import sys; from pathlib import Path; from meterlog.records import *\n"
            "try:\n    DataFolder(Path(sys.argv[1])).hold().__enter__()\n"
            "except RecordsError as error: print(error)"
        )
        said = subprocess.run(
            [sys.executable, "-c", attempt, str(tmp_path)],
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        assert said.startswith(f"{tmp_path} is already in use by process {os.getpid()}; stop it, or choose")
    with DataFolder(tmp_path).hold():
        assert folder.lock.read_text() == str(os.getpid())
    assert folder.lock.read_text() == ""


def test_a_reader_needs_no_lock(tmp_path: Path) -> None:
    holder, reader = DataFolder(tmp_path), DataFolder(tmp_path)
    with holder.hold():
        ours, theirs = holder.open(), reader.open()
        assert list_sessions(theirs) == []
        ours.dispose()
        theirs.dispose()


def test_a_reader_does_not_change_the_schema_under_a_holder(tmp_path: Path) -> None:
    holder, reader = DataFolder(tmp_path), DataFolder(tmp_path)
    with holder.hold(), pytest.raises(RecordsError, match="already in use"):
        reader.open()  # nobody has made the tables yet


def test_an_older_schema_is_copied_before_it_is_changed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = DataFolder(tmp_path)
    folder.open().dispose()
    monkeypatch.setattr("meterlog.records.folder.newest_revision", lambda: "9999")
    folder.open().dispose()
    copy = tmp_path / f"meterlog-schema-{newest_revision()}.sqlite3"
    assert copy.exists()
    first = copy.stat().st_mtime_ns
    folder.open().dispose()
    assert copy.stat().st_mtime_ns == first  # the copy from before the first attempt is the one to keep
