"""A fresh engine for a recorded session, as it stood before its first event."""

import tomllib
from typing import Any

from meterlog.procedure import Engine, load_procedure_text
from meterlog.quantity import Quantity, References, parse_quantity
from meterlog.records.session import SessionRecord


def build_engine(record: SessionRecord) -> Engine:
    """ProcedureError: this version refuses the stored procedure."""
    name = f"procedure of session {record.header.id}"
    return Engine(load_procedure_text(record.procedure_text, name, references_of(record.bench_text)))


def references_of(bench_text: str) -> References:
    """The levels that a stored bench file states. It was checked when the session began."""
    levels: dict[str, Any] = tomllib.loads(bench_text).get("levels", {})
    load = levels.get("dbm_ohm")
    return References(
        vu=_level(levels, "vu"),
        dbfs=_level(levels, "dbfs"),
        dbm_ohm=None if load is None else float(load),
    )


def _level(levels: dict[str, Any], key: str) -> Quantity | None:
    return parse_quantity(str(levels[key])) if key in levels else None
