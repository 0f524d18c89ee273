"""What the disk does to a writer: full, failing, its file gone. Nothing is lost, nothing is announced."""

import os
import subprocess
import sys
import textwrap
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Connection, Engine, event

from meterlog.procedure.events import Acted, ActionKind
from meterlog.records import NotStored, Writer, iter_events, last_moment, load_session
from meterlog.records.engine import database_file
from meterlog.records.writer import MOST_ROWS
from tests.records import samples
from tests.records.test_writer import PATIENCE_S, eventually

ROOT = Path(__file__).parents[2]


class Disk:
    """Holds the database to a number of pages, as a full disk would."""

    def __init__(self, engine: Engine) -> None:
        self.most_pages = 2**30
        event.listen(engine, "begin", self._limit)

    def _limit(self, connection: Connection) -> None:
        connection.exec_driver_sql(f"PRAGMA max_page_count = {self.most_pages}")


@pytest.fixture
def disk(engine: Engine) -> Disk:
    return Disk(engine)


@pytest.fixture
def writer(engine: Engine, disk: Disk) -> Iterator[Writer]:
    """Makes no attempt before it is asked, so that a slow machine cannot slip in a part of the batch."""
    writer = Writer(engine, batch_s=PATIENCE_S, retry_s=0.05)
    yield writer
    disk.most_pages = 2**30
    writer.close()


def _record(writer: Writer, session: int, first: int, last: int) -> None:
    for number in range(first, last + 1):
        writer.event(session, number, samples.measured(number))


def test_a_full_disk_keeps_everything_in_memory(engine: Engine, disk: Disk, writer: Writer) -> None:
    session = writer.begin_session(samples.START)
    writer.event(session, 1, samples.measured(1))
    writer.commit(session, 1, [samples.settled(1)])
    disk.most_pages = 1  # SQLite takes it as: not one page more than there are

    _record(writer, session, 2, 3000)
    for _ in range(2):  # asked again it is not queued again
        with pytest.raises(NotStored, match=r"disk is full; free some space .* entries wait in memory"):
            writer.commit(session, 3000, [samples.settled(2), samples.settled(3)])
    status = writer.status()
    assert (status.pending, status.alive) == (3001, True)
    assert "full" in status.error
    assert last_moment(engine, session) == (1, 1)

    disk.most_pages = 2**30
    assert eventually(lambda: writer.status().pending == 0)
    writer.commit(session, 3000, [samples.settled(2), samples.settled(3)])
    assert [sequence for sequence, _ in iter_events(engine, session)] == list(range(1, 3001))
    assert [value.number for value in load_session(engine, session).settled_values] == [1, 2, 3]
    assert writer.status().error == ""


def test_a_little_room_helps_a_little(engine: Engine, disk: Disk, writer: Writer) -> None:
    """What piled up goes in order, in portions; a value is on disk with all it rests on, or not at all."""
    session = writer.begin_session(samples.START)
    disk.most_pages = 1
    _record(writer, session, 1, MOST_ROWS)
    with pytest.raises(NotStored):
        writer.flush()
    _record(writer, session, MOST_ROWS + 1, 3 * MOST_ROWS)
    with pytest.raises(NotStored):
        writer.commit(session, 3 * MOST_ROWS, [samples.settled(1)])
    disk.most_pages = 250  # of 4096 bytes: enough for one portion, not for three
    assert eventually(lambda: writer.status().pending < 3 * MOST_ROWS)
    with pytest.raises(NotStored, match="disk is full"):
        writer.flush()
    stored, _ = last_moment(engine, session)
    assert 0 < stored < 3 * MOST_ROWS
    assert stored % MOST_ROWS == 0
    assert load_session(engine, session).settled_values == ()
    disk.most_pages = 2**30
    writer.flush()
    assert last_moment(engine, session)[0] == 3 * MOST_ROWS
    assert load_session(engine, session).settled_values == (samples.settled(1),)


def test_flush_returns_once_there_is_space_again(engine: Engine, disk: Disk, writer: Writer) -> None:
    session = writer.begin_session(samples.START)
    disk.most_pages = 1
    _record(writer, session, 1, 2000)
    with pytest.raises(NotStored):
        writer.flush()
    disk.most_pages = 2**30
    writer.flush()
    assert last_moment(engine, session) == (2000, 2000)


def test_closing_on_a_full_disk_says_what_is_left(engine: Engine, disk: Disk) -> None:
    writer = Writer(engine, batch_s=PATIENCE_S)
    session = writer.begin_session(samples.START)
    disk.most_pages = 1
    _record(writer, session, 1, 2000)
    with pytest.raises(NotStored, match="2000 entries could not be stored: the disk is full"):
        writer.close()


def test_a_removed_file_is_noticed_before_anything_is_announced(engine: Engine, writer: Writer) -> None:
    """Without the look at the inode the insert succeeds, into a file that has no name any more."""
    session = writer.begin_session(samples.START)
    path = database_file(engine)
    hidden = path.with_name("hidden")
    path.rename(hidden)
    writer.event(session, 1, Acted(1, ActionKind.GO_ON))
    with pytest.raises(NotStored, match="removed or replaced by another program; put the file back"):
        writer.commit(session, 1, [samples.settled(1)])
    assert writer.status().file_replaced
    path.write_bytes(hidden.read_bytes())  # a copy is another file, too
    with pytest.raises(NotStored, match="removed or replaced"):
        writer.flush()
    hidden.replace(path)
    writer.flush()
    assert not writer.status().file_replaced
    assert load_session(engine, session).settled_values == (samples.settled(1),)


def test_a_removed_folder_is_a_state_and_no_error(engine: Engine, writer: Writer) -> None:
    """Whoever asks for the status must live to tell it."""
    session = writer.begin_session(samples.START)
    folder = database_file(engine).parent
    hidden = folder.with_name(folder.name + "-hidden")
    folder.rename(hidden)
    writer.event(session, 1, Acted(1, ActionKind.GO_ON))
    with pytest.raises(NotStored, match="removed or replaced"):
        writer.flush()
    status = writer.status()
    assert (status.free_bytes, status.file_replaced, status.alive) == (None, True, True)
    hidden.rename(folder)
    writer.flush()
    assert writer.status().free_bytes is not None
    assert last_moment(engine, session) == (1, 1)


LIMITED = """
    import resource, sys
    from pathlib import Path
    from meterlog.records import NotStored, Writer, iter_events, migrate, open_engine
    from tests.records import samples

    engine = open_engine(Path(sys.argv[1]))
    migrate(engine)
    writer = Writer(engine, retry_s=0.05)
    session = writer.begin_session(samples.START)
    writer.event(session, 1, samples.measured(1))
    writer.commit(session, 1, [samples.settled(1)])

    _, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (writer.status().log_bytes + 8192, hard))
    for number in range(2, 5001):
        writer.event(session, number, samples.measured(number))
    try:
        writer.commit(session, 5000, [samples.settled(2)])
    except NotStored as error:
        print("not stored:", error)
    resource.setrlimit(resource.RLIMIT_FSIZE, (hard, hard))
    writer.flush()
    print("events:", len(list(iter_events(engine, session))))
    writer.close()
"""


def test_a_file_that_may_not_grow_is_an_error_of_the_disk(tmp_path: Path) -> None:
    """RLIMIT_FSIZE (setrlimit(2)) makes the write itself fail; Python ignores the signal with it."""
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(LIMITED), str(tmp_path / "record.sqlite3")],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stderr == ""
    told, counted = done.stdout.splitlines()
    assert told.startswith("not stored: the disk ")
    assert told.endswith("entries wait in memory")
    assert counted == "events: 5000"
