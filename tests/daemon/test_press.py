"""Reports are made in a process of their own: what comes back from it, and what does not stay behind."""

import multiprocessing
from collections.abc import Iterator
from multiprocessing.process import BaseProcess
from pathlib import Path

import pytest

from meterlog.daemon.press import Press
from meterlog.records import RecordsError
from meterlog.report import Form, ReportError
from tests.report.recorded import Recorded, new_record


@pytest.fixture
def press(tmp_path: Path) -> Iterator[Press]:
    with Recorded(new_record(tmp_path)) as session:
        session.settle_at(15.0)
    made = Press(tmp_path / "record.sqlite3")
    yield made
    made.stop()


def begun_since(before: set[BaseProcess]) -> set[BaseProcess]:
    """One that another test has stopped may still be about to end."""
    return set(multiprocessing.active_children()) - before


def test_it_is_made_elsewhere_and_errors_come_back(press: Press, tmp_path: Path) -> None:
    before = set(multiprocessing.active_children())
    assert press.write(1, tmp_path / "report.html", Form()) == ""
    assert "Positive rail" in (tmp_path / "report.html").read_text(encoding="utf-8")
    assert begun_since(before)
    with pytest.raises(RecordsError, match="there is no session 9; there is only session 1"):
        press.write(9, tmp_path / "none.html", Form())
    with pytest.raises(ReportError, match="session 1 has not ended"):
        press.write(1, tmp_path / "none.html", Form(issue=True))


def test_a_process_that_was_killed_is_begun_anew(press: Press, tmp_path: Path) -> None:
    before = set(multiprocessing.active_children())
    press.write(1, tmp_path / "one.html", Form())
    (child,) = begun_since(before)
    child.kill()
    child.join()
    with pytest.raises(ReportError, match="has ended; try again"):
        press.write(1, tmp_path / "two.html", Form())
    press.write(1, tmp_path / "two.html", Form())
