"""The record: every reading, action and outcome of every session, so that any result can be replayed."""

from meterlog.records.backup import backup
from meterlog.records.engine import open_engine
from meterlog.records.errors import NotStored, RecordsError
from meterlog.records.folder import DataFolder
from meterlog.records.issued import IssuedReport, add_issued, issued_file, list_issued, standing_numbers
from meterlog.records.meter_checks import MeterCheck, Papers, add_meter_check, list_meter_checks
from meterlog.records.meter_uses import MeterUse, meter_uses
from meterlog.records.migrate import migrate
from meterlog.records.partings import Parting, partings
from meterlog.records.queries import (
    iter_events,
    iter_readings,
    last_moment,
    list_sessions,
    load_session,
    unfinished_session,
)
from meterlog.records.rebuild import build_engine, changes_of, meters_of, references_of
from meterlog.records.replay import ReplayReport, replay
from meterlog.records.session import (
    BenchUsed,
    Commission,
    Instrument,
    KeptOutcome,
    SessionHeader,
    SessionRecord,
    SessionStart,
)
from meterlog.records.status import WriterStatus
from meterlog.records.writer import Writer

__all__ = [
    "BenchUsed",
    "Commission",
    "DataFolder",
    "Instrument",
    "IssuedReport",
    "KeptOutcome",
    "MeterCheck",
    "MeterUse",
    "NotStored",
    "Papers",
    "Parting",
    "RecordsError",
    "ReplayReport",
    "SessionHeader",
    "SessionRecord",
    "SessionStart",
    "Writer",
    "WriterStatus",
    "add_issued",
    "add_meter_check",
    "backup",
    "build_engine",
    "changes_of",
    "issued_file",
    "iter_events",
    "iter_readings",
    "last_moment",
    "list_issued",
    "list_meter_checks",
    "list_sessions",
    "load_session",
    "meter_uses",
    "meters_of",
    "migrate",
    "open_engine",
    "partings",
    "references_of",
    "replay",
    "standing_numbers",
    "unfinished_session",
]
