"""Going through the points of a check on a real bench: the links are opened, read and closed here."""

import queue
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from itertools import groupby
from typing import Protocol

from meterlog.bench import Bench, Clock, DrivenSource, LinkState, LinkStatus, OpenBench
from meterlog.checking.points_file import Point, Points
from meterlog.checking.result import Taken, Told, check_of, stillness
from meterlog.checking.setting import CHECKED, SECOND, Setting
from meterlog.checking.steady import Capture, Steady
from meterlog.quantity import readable_scale, show
from meterlog.reading import Identity, Reading
from meterlog.records import MeterCheck

LOOK_S = 0.25
OPENING_S = 15.0
"""How long a meter may take to answer for the first time, beyond the patience of the point."""


class Person(Protocol):
    """Who holds the reference to the meter."""

    def ready(self, point: Point) -> bool:
        """Return when the reference is connected; False leaves the point out."""

    def again(self, point: Point, why: str) -> bool:
        """It was not taken: whether to try once more."""

    def say(self, text: str) -> None:
        """What the person should know meanwhile."""


class _Reader:
    """What the links of a bench deliver, in one queue."""

    def __init__(self, clock: Clock, say: Callable[[str], None]) -> None:
        self.clock = clock
        self._say, self._said = say, ""
        self.readings: queue.SimpleQueue[Reading] = queue.SimpleQueue()
        self.links: dict[str, LinkStatus] = {}

    def heard(self, status: LinkStatus) -> None:
        self.links[status.meter] = status

    def identity(self, meter: str) -> Identity:
        found = self.links[meter].identity
        assert found is not None  # a meter that gave a reading has said who it is
        return found

    @property
    def troubles(self) -> str:
        return "; ".join(f"{one.meter} is {one.state}, {one.text}" for one in self.links.values() if one.text)

    def _say_troubles(self) -> None:
        """Once for each: who waits for a meter should know that it is not there."""
        lost = [one for one in tuple(self.links.values()) if one.state in (LinkState.LOST, LinkState.STALE)]
        told = "; ".join(f"{one.meter} is {one.state}, {one.text}" for one in lost)
        if told and told != self._said:
            self._say(told)
        self._said = told

    def taken_from(self, began_ns: int, for_s: float) -> Iterator[Reading]:
        """Readings dated from a moment on: what was there before is no evidence."""
        end_ns = began_ns + round(for_s * 1e9)
        while (left_s := (end_ns - self.clock.monotonic_ns()) / 1e9) > 0.0:
            try:
                reading = self.readings.get(timeout=min(LOOK_S, left_s))
            except queue.Empty:
                self._say_troubles()
                continue
            if reading.monotonic_ns >= began_ns:
                yield reading


def run_checks(
    points: Points,
    settings: Sequence[Setting],
    person: Person,
    *,
    told: Told,
    clock: Clock,
    source: DrivenSource | None = None,
) -> Iterator[MeterCheck]:
    """One for each point that was taken, as soon as it is: store it before asking for the next.

    `source`: that of the bench, for the points it is to be set for.
    CheckError, or an error of bench or source: the run cannot go on. What was given before stays true.
    """
    for bench, alike in groupby(settings, key=lambda setting: setting.bench):
        with _reading(bench, clock, person) as reader:
            for setting in alike:
                if (taken := _taken(setting, reader, person, source)) is not None:
                    yield check_of(points, setting, taken, told)


@contextmanager
def _reading(bench: Bench, clock: Clock, person: Person) -> Iterator[_Reader]:
    reader = _Reader(clock, person.say)
    links = OpenBench(bench, clock, reader.readings.put, reader.heard)
    links.start()
    try:
        yield reader
    finally:
        links.stop()


def _taken(setting: Setting, reader: _Reader, person: Person, source: DrivenSource | None) -> Taken | None:
    """None: the person leaves it out."""
    point = setting.point
    if point.drive:
        _drive(point, person, source)
    elif not person.ready(point):
        return None
    while True:
        steadies = _steadies(setting)
        captures = _settled(steadies, reader, point.patience)
        if captures is not None:
            return _told_apart(setting, captures, reader)
        why = "; ".join(filter(None, (one.why_not(_shower(point)) for one in steadies.values())))
        if not person.again(point, f"{why} ({reader.troubles})" if reader.troubles else why):
            return None


def _drive(point: Point, person: Person, source: DrivenSource | None) -> None:
    assert source is not None  # a setting is refused that asks for one the bench has not
    person.say(f"{source.name}: {source.set(point.frequency_hz, point.value.base)}")


def _steadies(setting: Setting) -> dict[str, Steady]:
    settle, dwell_s = stillness(setting), setting.point.dwell
    return {channel.name: Steady(settle, dwell_s, lag_s=channel.lag) for channel in setting.bench.channels}


def _settled(steadies: dict[str, Steady], reader: _Reader, patience_s: float) -> dict[str, Capture] | None:
    """All channels at the same time; None if they had not by the end of the patience."""
    first = any(one.readings == 0 for one in reader.links.values()) or not reader.links
    for reading in reader.taken_from(reader.clock.monotonic_ns(), patience_s + OPENING_S * first):
        steadies[reading.channel].take(reading)
        captures = {name: found for name, one in steadies.items() if (found := one.capture)}
        if len(captures) == len(steadies):
            return captures
    return None


def _told_apart(setting: Setting, captures: dict[str, Capture], reader: _Reader) -> Taken:
    second = setting.second
    return Taken(
        captures[CHECKED],
        reader.identity(setting.meter.name),
        captures.get(SECOND),
        reader.identity(second.name) if second else None,
    )


def _shower(point: Point) -> Callable[[float], str]:
    scale = readable_scale(point.value.base, point.unit)
    return lambda value: show(value, scale)
