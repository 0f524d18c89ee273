"""Tables and records as data frames."""

from collections.abc import Iterable
from datetime import UTC, datetime

import polars as pl

from meterlog.export.budget_cell import BUDGET_FIELDS
from meterlog.export.columnar import typed_columns
from meterlog.export.columns import key_of, kind_of
from meterlog.export.tables import Table
from meterlog.records import SessionHeader
from meterlog.report.session import local_time

_TIME = pl.Datetime("us", "UTC")
_TYPES: dict[type, pl.DataType] = {str: pl.String(), int: pl.Int64(), float: pl.Float64(), datetime: _TIME}
_TYPES[tuple] = pl.List(pl.Struct({name: _TYPES[kind] for name, kind in BUDGET_FIELDS.items()}))

_SESSION_TYPES = {
    "session": pl.Int64(),
    "unit_model": pl.String(),
    "unit_serial": pl.String(),
    "operator": pl.String(),
    "procedure": pl.String(),
    "batch": pl.String(),
    "began": _TIME,
    "ended": _TIME,
    "verdict": pl.String(),
    "software": pl.String(),
}


def frame(table: Table) -> pl.DataFrame:
    columns = typed_columns(table.rows, len(table.columns))
    return pl.DataFrame(
        [
            pl.Series(key_of(name), cells, _TYPES[kind_of(name)])
            for name, cells in zip(table.columns, columns, strict=True)
        ]
    )


def sessions_frame(headers: Iterable[SessionHeader]) -> pl.DataFrame:
    return pl.DataFrame([_session(header) for header in headers], schema=_SESSION_TYPES, orient="row")


def _session(header: SessionHeader) -> tuple[str | int | datetime | None, ...]:
    began, ended = header.began_time_ns, header.ended
    return (
        header.id,
        header.unit_model,
        header.unit_serial,
        header.operator,
        header.procedure_title,
        header.batch,
        local_time(began, UTC),
        local_time(began + ended.at_ns, UTC) if ended else None,
        str(ended.verdict) if ended else None,
        header.software,
    )
