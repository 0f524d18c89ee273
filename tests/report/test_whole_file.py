"""A file appears whole or not at all."""

from pathlib import Path

import pytest

from meterlog.report.errors import ReportError
from meterlog.report.whole_file import whole_file


def test_takes_its_place_when_it_is_complete(tmp_path: Path) -> None:
    path = tmp_path / "report.html"
    path.write_text("old")
    with whole_file(path) as draft:
        draft.write_text("new")
        assert path.read_text() == "old"
    assert path.read_text() == "new"
    assert list(tmp_path.iterdir()) == [path]


def test_a_failure_half_way_leaves_what_stood_there(tmp_path: Path) -> None:
    path = tmp_path / "report.html"
    path.write_text("old")

    def fail() -> None:
        with whole_file(path) as draft:
            draft.write_text("half")
            raise RuntimeError("the lamp went out")

    with pytest.raises(RuntimeError):
        fail()
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_full_disk_is_said_in_words(tmp_path: Path) -> None:
    path = tmp_path / "report.html"
    path.write_text("old")

    def fill() -> None:
        with whole_file(path):
            raise OSError(28, "No space left on device")

    with pytest.raises(ReportError, match=r"report\.html cannot be written: No space left on device"):
        fill()
    assert path.read_text() == "old"


def test_a_folder_that_is_not_there_is_said_in_words(tmp_path: Path) -> None:
    with (
        pytest.raises(ReportError, match=r"No such file or directory.*Choose another place"),
        whole_file(tmp_path / "nowhere" / "report.html"),
    ):
        pass


def test_a_folder_in_the_way_is_said_in_words(tmp_path: Path) -> None:
    (tmp_path / "report.html").mkdir()
    for path in (tmp_path / "report.html", Path(), Path("/")):  # the second is what an empty name becomes
        with pytest.raises(ReportError, match="it is a folder; name a file in it"), whole_file(path):
            pytest.fail("nothing is to be done for a file that cannot be")
    assert [path.name for path in tmp_path.iterdir()] == ["report.html"]
