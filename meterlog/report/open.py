"""A session out of the record, ready for a report or an export."""

from datetime import tzinfo
from functools import partial

from sqlalchemy import Engine

from meterlog.procedure import load_procedure_text, plan_of
from meterlog.records.issued import list_issued
from meterlog.records.queries import iter_readings, load_session
from meterlog.report.bench_text import read_bench_text
from meterlog.report.digest import results_digest
from meterlog.report.session import Session
from meterlog.report.standing import Course


def open_session(engine: Engine, session_id: int, zone: tzinfo | None = None) -> Session:
    """`zone` None is that of this machine. A session that still runs is taken as far as it is stored.

    RecordsError: no such session. ProcedureError: this version refuses the stored procedure.
    """
    record = load_session(engine, session_id)
    benches = tuple(
        (used.since_sequence, read_bench_text(used.text, used.specifications, used.profiles))
        for used in record.benches
    )
    bench = benches[0][1]
    name = f"procedure of session {session_id}"
    procedure = load_procedure_text(record.procedure_text, name, bench.references)
    return Session(
        header=record.header,
        instruments=record.instruments,
        procedure=procedure,
        bench=bench,
        benches=benches,
        course=Course(
            record.settled_values,
            record.step_endings,
            record.actions,
            record.guard_trips,
            plan_of(procedure),
        ),
        readings=partial(iter_readings, engine, session_id),
        zone=zone,
        results_digest=results_digest(record),
        commission=record.commission,
        issued=list_issued(engine),
    )
