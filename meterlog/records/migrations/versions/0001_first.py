"""The first schema. Frozen: it says what version 0001 was, whatever `meterlog.records.schema` says now."""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

Part = sa.Column[Any] | sa.Constraint


def upgrade() -> None:
    _sessions()
    _instruments()
    _events()
    _settled_values()
    _endings()


def downgrade() -> None:
    raise NotImplementedError("there is nothing before the first schema; start with an empty data folder")


def _sessions() -> None:
    op.create_table("documents", *_texts("digest", "kind", "text"), _key("documents", "digest"))
    op.create_table(
        "sessions",
        _column("id", sa.Integer()),
        *_texts("unit_model", "unit_serial", "operator", "procedure_title"),
        *_texts("procedure_digest", "bench_digest"),
        *_nanoseconds("began_time_ns", "origin_ns"),
        *_texts("boot_id", "software"),
        _reference("sessions", "procedure_digest", "documents.digest"),
        _reference("sessions", "bench_digest", "documents.digest"),
        _key("sessions", "id"),
    )


def _instruments() -> None:
    op.create_table(
        "instruments",
        _column("id", sa.Integer()),
        _column("session_id", sa.Integer()),
        *_texts("meter", "driver", "maker", "model", "serial_number", "version", "text", "calibrated"),
        *_nanoseconds("seen_time_ns", "since_sequence"),
        _reference("instruments", "session_id", "sessions.id"),
        _key("instruments", "id"),
    )
    op.create_index("ix_instruments_session_id", "instruments", ["session_id"])


def _events() -> None:
    _of_session(
        "readings",
        "sequence",
        *_nanoseconds("sequence", "at_ns", "time_ns", "monotonic_ns"),
        *_texts("channel"),
        _column("value", sa.Float(53), nullable=True),
        *_texts("unit", "state", "coupling"),
        _column("resolution", sa.Float(53)),
        _column("range_max", sa.Float(53), nullable=True),
        *_texts("function", "flags"),
        _column("raw", sa.LargeBinary()),
    )
    _of_session(
        "actions",
        "sequence",
        *_nanoseconds("sequence", "at_ns", "time_ns"),
        *_texts("kind", "text"),
        _column("place", sa.Integer(), nullable=True),
    )
    _of_session("ticks", "sequence", *_nanoseconds("sequence", "at_ns"))


def _settled_values() -> None:
    uncertainty = ("standard_uncertainty", "degrees_of_freedom", "expanded_uncertainty", "coverage_factor")
    _of_session(
        "settled_values",
        "number",
        _column("number", sa.Integer()),
        *_nanoseconds("sequence"),
        *_counts("position", "place"),
        *_texts("step", "condition", "pass", "role", "channel"),
        _column("value", sa.Float(53)),
        *_texts("unit"),
        *(_column(name, sa.Float(53)) for name in uncertainty),
        *_counts("readings"),
        *_nanoseconds("since_ns", "at_ns"),
        *(_column(name, sa.Float(53), nullable=True) for name in ("target", "low", "high")),
        *_texts("verdict"),
        *_counts("round", "attempt"),
        _column("replaces", sa.Integer(), nullable=True),
        sa.UniqueConstraint(
            "session_id", "sequence", "position", name="uq_settled_values_session_id_sequence_position"
        ),
    )


def _endings() -> None:
    _of_session(
        "step_endings",
        "sequence position",
        *_nanoseconds("sequence"),
        *_counts("position", "place"),
        *_texts("step", "pass"),
        *_counts("attempt"),
        *_texts("ending", "verdict"),
        *_nanoseconds("began_ns", "at_ns"),
        *_texts("reason"),
    )
    _of_session(
        "session_endings",
        "",
        *_nanoseconds("sequence"),
        *_counts("position"),
        *_texts("verdict"),
        *_nanoseconds("at_ns"),
    )


def _of_session(name: str, within: str, *parts: Part) -> None:
    """A table of things of a session; `within` is what tells them apart there."""
    op.create_table(
        name,
        _column("session_id", sa.Integer()),
        *parts,
        _reference(name, "session_id", "sessions.id"),
        _key(name, "session_id", *within.split()),
    )


def _column(name: str, kind: sa.types.TypeEngine[Any], *, nullable: bool = False) -> sa.Column[Any]:
    return sa.Column(name, kind, nullable=nullable, autoincrement="auto" if name == "id" else False)


def _texts(*names: str) -> list[sa.Column[Any]]:
    return [_column(name, sa.Text()) for name in names]


def _nanoseconds(*names: str) -> list[sa.Column[Any]]:
    return [_column(name, sa.BigInteger()) for name in names]


def _counts(*names: str) -> list[sa.Column[Any]]:
    return [_column(name, sa.Integer()) for name in names]


def _key(table: str, *columns: str) -> sa.Constraint:
    return sa.PrimaryKeyConstraint(*columns, name=f"pk_{table}")


def _reference(table: str, column: str, to: str) -> sa.Constraint:
    return sa.ForeignKeyConstraint([column], [to], name=f"fk_{table}_{column}")
