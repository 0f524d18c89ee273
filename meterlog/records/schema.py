"""The tables. Rows are only ever added, never changed or deleted.

`sequence` is one order over the readings, actions and ticks of a session: that in which the engine got
them. The outcomes name the event that produced them, and their `position` among those of that event, so
the record holds exactly what the engine gave. A session has ended when it has a row in session_endings.

Numbers are in base units. No column holds NaN: databases disagree about what it means. SQLite drops the
sign of a zero; nothing measured depends on it.
"""

from sqlalchemy import (
    BigInteger,
    Column,
    Float,
    ForeignKey,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

METADATA = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    }
)


def _text(name: str) -> Column[str]:
    return Column(name, Text, nullable=False)


def _nanoseconds(name: str) -> Column[int]:
    return Column(name, BigInteger, nullable=False)


def _count(name: str) -> Column[int]:
    return Column(name, Integer, nullable=False)


def _double(name: str, *, nullable: bool = False) -> Column[float]:
    return Column(name, Float(53), nullable=nullable)


def _session() -> Column[int]:
    return Column("session_id", Integer, ForeignKey("sessions.id"), primary_key=True, autoincrement=False)


def _sequence() -> Column[int]:
    return Column("sequence", BigInteger, primary_key=True, autoincrement=False)


def _produced_by() -> tuple[Column[int], Column[int], UniqueConstraint]:
    return (
        _nanoseconds("sequence"),
        _count("position"),
        UniqueConstraint("session_id", "sequence", "position"),
    )


documents = Table(
    "documents",
    METADATA,
    Column("digest", Text, primary_key=True),
    _text("kind"),
    _text("text"),
)

sessions = Table(
    "sessions",
    METADATA,
    Column("id", Integer, primary_key=True),
    _text("unit_model"),
    _text("unit_serial"),
    _text("operator"),
    _text("procedure_title"),
    Column("procedure_digest", Text, ForeignKey("documents.digest"), nullable=False),
    Column("bench_digest", Text, ForeignKey("documents.digest"), nullable=False),
    _nanoseconds("began_time_ns"),
    _nanoseconds("origin_ns"),
    _text("boot_id"),
    _text("software"),
    Column("batch", Text, nullable=False, server_default=""),
)

benches = Table(
    "benches",
    METADATA,
    _session(),
    Column("since_sequence", BigInteger, primary_key=True, autoincrement=False),
    Column("bench_digest", Text, ForeignKey("documents.digest"), nullable=False),
)

commissions = Table(
    "commissions", METADATA, _session(), *map(_text, ("customer", "customer_says", "received", "work_place"))
)

specifications = Table(
    "specifications",
    METADATA,
    _session(),
    Column("since_sequence", BigInteger, primary_key=True, autoincrement=False),
    Column("meter", Text, primary_key=True),
    Column("digest", Text, ForeignKey("documents.digest"), nullable=False),
)

profiles = Table(
    "profiles",
    METADATA,
    _session(),
    Column("since_sequence", BigInteger, primary_key=True, autoincrement=False),
    Column("channel", Text, primary_key=True),
    Column("digest", Text, ForeignKey("documents.digest"), nullable=False),
)

instruments = Table(
    "instruments",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("session_id", Integer, ForeignKey("sessions.id"), nullable=False, index=True),
    *map(_text, ("meter", "driver", "maker", "model", "serial_number", "version", "text", "calibrated")),
    _nanoseconds("seen_time_ns"),
    _nanoseconds("since_sequence"),
)

readings = Table(
    "readings",
    METADATA,
    _session(),
    _sequence(),
    *map(_nanoseconds, ("at_ns", "time_ns", "monotonic_ns")),
    _text("channel"),
    _double("value", nullable=True),
    *map(_text, ("unit", "state", "coupling")),
    _double("resolution"),
    _double("range_max", nullable=True),
    *map(_text, ("function", "flags")),
    Column("raw", LargeBinary, nullable=False),
    Column("display", Integer, nullable=False, server_default="1"),
)

actions = Table(
    "actions",
    METADATA,
    _session(),
    _sequence(),
    *map(_nanoseconds, ("at_ns", "time_ns")),
    *map(_text, ("kind", "text")),
    Column("place", Integer),
)

ticks = Table("ticks", METADATA, _session(), _sequence(), _nanoseconds("at_ns"))

settled_values = Table(
    "settled_values",
    METADATA,
    _session(),
    Column("number", Integer, primary_key=True, autoincrement=False),
    *_produced_by(),
    _count("place"),
    *map(_text, ("step", "condition", "pass", "role", "channel")),
    _double("value"),
    _text("unit"),
    *map(
        _double,
        ("standard_uncertainty", "degrees_of_freedom", "expanded_uncertainty", "coverage_factor"),
    ),
    _count("readings"),
    *map(_nanoseconds, ("since_ns", "at_ns")),
    *(_double(name, nullable=True) for name in ("target", "low", "high")),
    _text("verdict"),
    *map(_count, ("round", "attempt")),
    Column("replaces", Integer),
    Column("about", Integer),
    _double("correction", nullable=True),
    Column("budget", Text, nullable=False, server_default="[]"),
    *(_double(name, nullable=True) for name in ("lower", "upper")),
)

step_endings = Table(
    "step_endings",
    METADATA,
    _session(),
    _sequence(),
    Column("position", Integer, primary_key=True, autoincrement=False),
    _count("place"),
    *map(_text, ("step", "pass")),
    _count("attempt"),
    *map(_text, ("ending", "verdict")),
    *map(_nanoseconds, ("began_ns", "at_ns")),
    _text("reason"),
)

guard_trips = Table(
    "guard_trips",
    METADATA,
    _session(),
    _sequence(),
    Column("position", Integer, primary_key=True, autoincrement=False),
    _text("guard"),
    _count("place"),
    *map(_text, ("step", "pass", "channel")),
    _double("value", nullable=True),
    _double("limit"),
    _nanoseconds("at_ns"),
)

session_endings = Table(
    "session_endings",
    METADATA,
    _session(),
    _nanoseconds("sequence"),
    _count("position"),
    _text("verdict"),
    _nanoseconds("at_ns"),
)

issued_reports = Table(
    "issued_reports",
    METADATA,
    Column("number", Text, primary_key=True),
    Column("session_id", Integer, ForeignKey("sessions.id"), nullable=False),
    _nanoseconds("time_ns"),
    *map(_text, ("kind", "customer", "replaces", "because", "results_digest", "file_digest")),
)

issued_files = Table(
    "issued_files",
    METADATA,
    Column("number", Text, ForeignKey("issued_reports.number"), primary_key=True),
    Column("form", Text, primary_key=True),
    Column("content", LargeBinary, nullable=False),
)

meter_checks = Table(
    "meter_checks",
    METADATA,
    Column("id", Integer, primary_key=True),
    _nanoseconds("time_ns"),
    *map(_text, ("meter", "driver", "maker", "model", "serial_number", "text", "calibrated")),
    *map(_text, ("point", "function", "coupling", "unit")),
    *(_double(name, nullable=True) for name in ("full_scale", "frequency_hz")),
    *map(_text, ("reference", "reference_serial")),
    *map(_double, ("reference_value", "reference_uncertainty", "reference_factor", "indicated")),
    *map(_double, ("standard_uncertainty", "degrees_of_freedom", "expanded_uncertainty", "resolution")),
    _count("readings"),
    _double("allowed", nullable=True),
    _double("every_days"),
    _double("temperature_c", nullable=True),
    *map(_text, ("warm_up", "operator", "remark", "software")),
    Column("points_digest", Text, ForeignKey("documents.digest"), nullable=False),
    Column("bench_digest", Text, ForeignKey("documents.digest"), nullable=False),
    Column("specification_digest", Text, ForeignKey("documents.digest")),
)

EVENTS = (readings, actions, ticks)
OUTCOMES = (settled_values, step_endings, guard_trips, session_endings)
