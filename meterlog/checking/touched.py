"""A meter was found outside: which sessions rest on it since it was last found inside."""

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

from sqlalchemy import Engine

from meterlog.checking.history import PointHistory, by_meter, histories
from meterlog.checking.judged import Judged, Standing
from meterlog.records import MeterCheck, MeterUse, SessionHeader, load_session, meter_uses


@dataclass(frozen=True, slots=True)
class Doubt:
    """Since when a meter is in doubt.

    points    at which its last check was outside
    good_ns   UTC, the last check at these that was inside, the earliest of several; None if none ever was
    found_ns  UTC, when it was first found outside since; None where nothing but a day was asked for
    """

    meter: str
    serial_number: str
    points: tuple[str, ...]
    good_ns: int | None
    found_ns: int | None


@dataclass(frozen=True, slots=True)
class Touched:
    """values: settled through this meter's channels. known: begun when it had been found outside already."""

    session: SessionHeader
    values: int
    known: bool


def doubt_of(own: Sequence[PointHistory]) -> Doubt | None:
    """From all histories of one meter; None while every point was inside at its last check, or not judged."""
    outside = [one for one in own if one.last.standing is Standing.OUTSIDE]
    if not outside:
        return None
    good = [_last_inside(one.checks) for one in outside]
    known = [one.kept.time_ns for one in good if one is not None]
    newest = max((one.last.kept for one in outside), key=lambda kept: kept.time_ns)
    return Doubt(
        newest.meter,
        newest.serial_number,
        tuple(dict.fromkeys(one.last.kept.point for one in outside)),
        min(known) if len(known) == len(good) else None,
        min(_found_ns(one.checks) for one in outside),
    )


def doubts(checks: Sequence[MeterCheck], meter: str, since: date | None = None) -> list[Doubt]:
    """Of each meter with this name or serial number that is in doubt; with a day: since then in any case."""
    groups = by_meter(histories(checks, meter=meter))
    if since is not None:
        known = [max((one.last.kept for one in own), key=lambda kept: kept.time_ns) for own in groups]
        asked = dict.fromkeys((kept.meter, kept.serial_number) for kept in known) or {(meter, ""): None}
        return [Doubt(*named, (), _beginning_ns(since), None) for named in asked]
    return [doubt for own in groups if (doubt := doubt_of(own)) is not None]


def touched(engine: Engine, doubt: Doubt) -> list[Touched]:
    """Sessions that the meter was on the bench for, from the last good check on; the oldest first."""
    return [
        Touched(use.session, _values(engine, use), bool(doubt.found_ns and use.from_ns > doubt.found_ns))
        for use in meter_uses(engine)
        if _is_same(use, doubt) and use.until_ns >= (doubt.good_ns or 0)
    ]


def _beginning_ns(day: date) -> int:
    return int(datetime(day.year, day.month, day.day, tzinfo=UTC).timestamp()) * 10**9


def _is_same(use: MeterUse, doubt: Doubt) -> bool:
    """By the serial number, or by the name where either has none."""
    if use.serial_number and doubt.serial_number:
        return use.serial_number == doubt.serial_number
    return use.meter == doubt.meter


def _values(engine: Engine, use: MeterUse) -> int:
    record = load_session(engine, use.session.id)
    tables = [table for bench in record.benches for table in tomllib.loads(bench.text).get("channel", [])]
    channels = {table["name"] for table in tables if table["meter"] == use.meter}
    return sum(value.channel in channels for value in record.settled_values)


def _last_inside(checks: Sequence[Judged]) -> Judged | None:
    return next((one for one in reversed(checks) if one.standing is Standing.INSIDE), None)


def _found_ns(checks: Sequence[Judged]) -> int:
    """Of the first check outside after the last one inside."""
    last = _last_inside(checks)
    after = checks[checks.index(last) + 1 :] if last else checks
    return next(one.kept.time_ns for one in after if one.standing is Standing.OUTSIDE)
