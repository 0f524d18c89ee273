"""A fresh engine for a recorded session, as it stood before its first event."""

import tomllib
from datetime import UTC, datetime
from typing import Any

from meterlog.accuracy import Conditions, InUse
from meterlog.bench import Channel, conditions, in_use, load_profile_text, load_specification_text
from meterlog.procedure import Engine, Lags, load_procedure_text
from meterlog.quantity import Quantity, References, parse_quantity
from meterlog.records.session import BenchUsed, SessionRecord

Meters = tuple[dict[str, InUse], dict[str, Conditions], Lags]
"""By the names of their channels: what they can do, how old their calibrations were, how they average."""


def build_engine(record: SessionRecord) -> Engine:
    """ProcedureError: this version refuses the stored procedure."""
    name = f"procedure of session {record.header.id}"
    procedure = load_procedure_text(record.procedure_text, name, references_of(record.bench_text))
    return Engine(procedure, *meters_of(record.benches[0], record.header.began_time_ns))


def changes_of(record: SessionRecord) -> dict[int, Meters]:
    """The meters of the benches that the session was gone on with at, by the first event there."""
    later = record.benches[1:]
    return {bench.since_sequence: meters_of(bench, record.header.began_time_ns) for bench in later}


def meters_of(bench: BenchUsed, began_time_ns: int) -> Meters:
    """What is known of the channels' meters, from the texts that were kept.

    Nothing else of the bench file is looked at: its drivers need not be installed any more.
    """
    tables = tomllib.loads(bench.text)
    context = {"references": references_of(bench.text)}
    channels = [Channel.model_validate(table, context=context) for table in tables.get("channel", [])]
    described = {
        name: load_specification_text(text, f"specification of {name}")
        for name, text in bench.specifications.items()
    }
    profiles = {name: load_profile_text(text, f"profile of {name}") for name, text in bench.profiles.items()}
    calibrated = {
        table["name"]: table["calibrated"] for table in tables.get("meter", []) if "calibrated" in table
    }
    began = datetime.fromtimestamp(began_time_ns / 1e9, UTC).date()
    lags = {channel.name: channel.lag for channel in channels if channel.lag}
    known = conditions(channels, calibrated, profiles, began)
    return in_use(channels, described, profiles), known, lags


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
