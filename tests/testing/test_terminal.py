"""The kit's end of a serial lead: plugged in again at once, it works."""

import os
from pathlib import Path

import pytest

from meterlog.testing import Terminal


def test_plugged_in_while_it_is_still_being_unplugged_it_has_the_new_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The far end fails as soon as the port is closed, and its test goes on in another thread."""
    with Terminal(tmp_path / "adapter") as terminal:
        closed = os.close

        def close_and_plug(end: int) -> None:
            monkeypatch.setattr(os, "close", closed)
            closed(end)
            terminal.plug()

        monkeypatch.setattr(os, "close", close_and_plug)
        terminal.unplug()
        port = os.open(terminal.path, os.O_RDWR | os.O_NOCTTY)
        terminal.send(b"x")
        assert os.read(port, 10) == b"x"
        os.close(port)
