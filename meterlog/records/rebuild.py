"""A fresh engine for a recorded session, as it stood before its first event."""

import tomllib
from typing import Any

from meterlog.procedure import Engine, load_procedure_text, with_lags
from meterlog.quantity import Quantity, References, parse_duration_s, parse_quantity
from meterlog.records.session import SessionRecord


def build_engine(record: SessionRecord) -> Engine:
    """ProcedureError: this version refuses the stored procedure."""
    name = f"procedure of session {record.header.id}"
    procedure = load_procedure_text(record.procedure_text, name, references_of(record.bench_text))
    return Engine(with_lags(procedure, lags_of(record.bench_text)))


def lags_of(bench_text: str) -> dict[str, float]:
    """Seconds of averaging of each channel that a stored bench file states them for."""
    channels: list[dict[str, Any]] = tomllib.loads(bench_text).get("channel", [])
    return {c["name"]: parse_duration_s(str(c["lag"])) for c in channels if "lag" in c}


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
