"""Which meters were on the bench in which session, and when."""

from typing import NamedTuple

from sqlalchemy import Engine, func, select

from meterlog.records.engine import reading
from meterlog.records.queries import last_moment, list_sessions
from meterlog.records.schema import instruments
from meterlog.records.session import SessionHeader


class MeterUse(NamedTuple):
    """from_ns, until_ns: UTC, from when the meter was first seen to the end of the session, or to what was
    stored last of one that has not ended."""

    session: SessionHeader
    meter: str
    serial_number: str
    from_ns: int
    until_ns: int


def meter_uses(engine: Engine) -> list[MeterUse]:
    """The oldest session first; a meter that was seen several times in one is there once."""
    column = instruments.c
    seen = select(column.session_id, column.meter, column.serial_number, func.min(column.seen_time_ns))
    with reading(engine) as connection:
        rows = connection.execute(seen.group_by(column.session_id, column.meter, column.serial_number)).all()
    headers = {header.id: header for header in list_sessions(engine)}
    ends = {number: _end_ns(engine, headers[number]) for number in {row[0] for row in rows}}
    found = [
        MeterUse(headers[number], meter, serial, seen_ns, ends[number])
        for number, meter, serial, seen_ns in rows
    ]
    return sorted(found, key=lambda use: (use.session.id, use.meter))


def _end_ns(engine: Engine, header: SessionHeader) -> int:
    at_ns = header.ended.at_ns if header.ended else last_moment(engine, header.id)[1]
    return header.began_time_ns + at_ns
