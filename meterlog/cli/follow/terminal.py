"""Single keys from the terminal, without waiting for the end of a line."""

import os
import select
import sys
import termios
import tty
from collections.abc import Iterator
from contextlib import contextmanager

from meterlog.cli.follow.keyboard import BACKSPACE, ENTER, ESCAPE, PAGE_DOWN

_NAMES = {"\x1b": ESCAPE, "\x7f": BACKSPACE, "\x08": BACKSPACE, "\r": ENTER, "\x1b[6~": PAGE_DOWN}
_MOST = 64


@contextmanager
def single_keys() -> Iterator[None]:
    """Keys come one by one and are not echoed; put back as it was afterwards."""
    descriptor = sys.stdin.fileno()
    before = termios.tcgetattr(descriptor)
    try:
        tty.setcbreak(descriptor)
        yield
    finally:
        termios.tcsetattr(descriptor, termios.TCSADRAIN, before)


def keys_pressed(wait_s: float) -> list[str]:
    """Those that came within the time; keys that have no letter by their name, unknown ones left out."""
    descriptor = sys.stdin.fileno()
    if not select.select([descriptor], [], [], wait_s)[0]:
        return []
    return named(os.read(descriptor, _MOST).decode(errors="replace"))


def named(typed: str) -> list[str]:
    """A terminal sends a key without a letter as one sequence that begins with escape."""
    if typed.startswith("\x1b") and len(typed) > 1:
        return [_NAMES[typed]] if typed in _NAMES else []
    return [_NAMES.get(mark, mark) for mark in typed]
