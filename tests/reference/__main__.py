"""docs/references.md out of the tests themselves: `python -m tests.reference > docs/references.md`.

The tests that `sources.toml` names are run, and each comparison that they make with a published figure is
written down as it is made: the figure, ours, and how near it has to be. So the table says what
the tests hold, and no more.
"""

import contextlib
import io
import linecache
import math
import sys
import tomllib
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

SOURCES = Path(__file__).with_name("sources.toml")
_HEAD = Path(__file__).with_name("head.md")
_MOST_ROWS = 12
"""Of one test; one with more figures is told in one row, with the figure that is furthest off."""
_APPROXIMATE: Any = type(pytest.approx(1.0))
_QUIETLY = ("-q", "-p", "no:randomly", "-p", "no:xdist", "-p", "no:cacheprovider", "-p", "no:benchmark")


@dataclass(frozen=True, slots=True)
class Compared:
    what: str
    printed: float
    ours: float
    tolerance: float

    @property
    def off(self) -> float:
        """In tolerances."""
        return abs(self.ours - self.printed) / self.tolerance if self.tolerance else 0.0


@dataclass
class Recorder:
    """A plugin of pytest: what each test compares with what it expects, and how many of its cases passed."""

    found: dict[str, list[Compared]] = field(default_factory=lambda: defaultdict(list))
    passed: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    failed: list[str] = field(default_factory=list)
    _test: str = ""

    def pytest_runtest_setup(self, item: pytest.Item) -> None:
        self._test = item.nodeid.partition("[")[0]

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed.append(report.nodeid)
        elif report.when == "call":
            self.passed[report.nodeid.partition("[")[0]] += 1

    @contextlib.contextmanager
    def listening(self) -> Iterator[None]:
        plain = _APPROXIMATE.__eq__

        def heard(expected: Any, actual: Any) -> bool:
            equal = bool(plain(expected, actual))
            figures = isinstance(expected.expected, float) and isinstance(actual, (int, float))
            if equal and figures:
                one = Compared(_expression(), expected.expected, float(actual), float(expected.tolerance))
                self.found[self._test].append(one)
            return equal

        _APPROXIMATE.__eq__ = heard
        try:
            yield
        finally:
            _APPROXIMATE.__eq__ = plain


def _expression() -> str:
    """The line of the test that compares, as far as its `==`."""
    frame = sys._getframe(2)
    while frame.f_back and not Path(frame.f_code.co_filename).name.startswith("test_"):
        frame = frame.f_back
    line = linecache.getline(frame.f_code.co_filename, frame.f_lineno).strip()
    return line.removeprefix("assert ").partition(" == ")[0].partition(", key")[0]


def page() -> str:
    """The whole document. RuntimeError: a test has failed, or there is none of that name."""
    rooms = tomllib.loads(SOURCES.read_text(encoding="utf-8"))["room"]
    recorder = Recorder()
    tests = [held["test"] for room in rooms for held in room["held"]]
    with recorder.listening(), contextlib.redirect_stdout(io.StringIO()) as said:
        ended = pytest.main([*_QUIETLY, *tests], plugins=[recorder])
    if ended != pytest.ExitCode.OK or (lacking := [one for one in tests if not recorder.passed[one]]):
        raise RuntimeError(f"not every test holds: {recorder.failed or lacking}\n{said.getvalue()}")
    told = [line for room in rooms for line in _room(room, recorder)]
    return "\n".join([_HEAD.read_text(encoding="utf-8"), *told]) + "\n"


def _room(room: dict[str, Any], recorder: Recorder) -> Iterator[str]:
    yield f"## {room['title']}\n\n{room['source']}\n"
    yield "| what | figure | ours | within |\n|---|---|---|---|"
    for held in room["held"]:
        remark = f"{held['remark']} " if "remark" in held else ""
        yield f"| **{held['what']}**<br>{remark}`{held['test']}` | | | |"
        yield from _rows(recorder.found[held["test"]], recorder.passed[held["test"]])
    yield ""


def _rows(found: list[Compared], cases: int) -> Iterator[str]:
    if not found:
        yield f"| {'1 case' if cases == 1 else f'{cases} cases'}, compared as they are printed | | equal | |"
    elif len(found) > _MOST_ROWS:
        furthest = max(found, key=lambda one: one.off)
        yield f"| {len(found)} figures; the one furthest off | {_figures(furthest)} |"
    else:
        for one in found:
            yield f"| `{one.what}` | {_figures(one)} |"


def _figures(one: Compared) -> str:
    within = f"{one.tolerance:.1g}" if one.tolerance else "equal"
    return f"{one.printed:.12g} | {_near(one)} | {within}"


def _near(one: Compared) -> str:
    """Ours with one digit more than the test looks at, twelve at most: what is beyond differs by machine."""
    if not one.ours or not one.tolerance:
        return f"{one.ours:.12g}"
    digits = math.floor(math.log10(abs(one.ours))) - math.floor(math.log10(one.tolerance)) + 2
    return f"{one.ours:.{min(max(digits, 1), 12)}g}"


if __name__ == "__main__":
    sys.stdout.write(page())
