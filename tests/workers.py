"""Which worker takes which file, so that what waits does so beside what computes.

Tests on wires and in a browser mostly wait, and suffer when the processor comes late. Every other worker
begins with those and keeps its priority; whoever runs other files gives way to them. Slow files begin first,
or the last one would end alone; no worker holds two of them, or one would wait behind the other.
"""

import os
import re
from functools import cache
from pathlib import Path
from typing import Any

from xdist.scheduler import LoadFileScheduling

MARK = re.compile(r"\bpytest\.mark\.(\w+)")
ON_TIME = {"wire", "browser"}
NICE = 10
CHECKOUT = Path(__file__).parents[1]


@cache
def marks(file: str) -> frozenset[str]:
    """The marks that stand in a test file; read there, for workers alone collect."""
    return frozenset(MARK.findall((CHECKOUT / file).read_text(encoding="utf-8")))


def on_time(file: str) -> bool:
    return not ON_TIME.isdisjoint(marks(file))


def slow(file: str) -> bool:
    return "slow" in marks(file)


def give_way(file: str) -> None:
    """Of a worker, for good: what it runs from now on is not urgent."""
    if not on_time(file) and os.getpriority(os.PRIO_PROCESS, 0) < NICE:
        os.setpriority(os.PRIO_PROCESS, 0, NICE)


def choose(files: list[str], *, first_on_time: bool, has_slow: bool) -> str:
    """Of the files that are left, the next for a worker; those of the other kind when its own are done."""
    own = [file for file in files if on_time(file) == first_on_time] or files
    return next((file for file in own if slow(file) != has_slow), own[0])


class Workers(LoadFileScheduling):
    """A file goes to one worker, so its fixtures are made once."""

    def _assign_work_unit(self, node: Any) -> None:
        self.workqueue.move_to_end(self._next_for(node), last=False)
        super()._assign_work_unit(node)

    def _next_for(self, node: Any) -> str:
        first_on_time = int(node.gateway.id.removeprefix("gw")) % 2 == 0
        held = self.assigned_work[node].items()
        has_slow = any(slow(file) and not all(done.values()) for file, done in held)
        return choose(list(self.workqueue), first_on_time=first_on_time, has_slow=has_slow)
