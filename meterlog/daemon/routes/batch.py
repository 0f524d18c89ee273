"""The batch of units that the daemon was started for."""

from typing import Any

from fastapi import APIRouter

from meterlog.daemon.as_json import plain
from meterlog.daemon.context import Here
from meterlog.report.batch import batch_report

router = APIRouter(prefix="/api", tags=["record"])


@router.get("/batch")
def batch(here: Here) -> dict[str, Any] | None:
    """How far it has come: units, steps, pairs, the next unit; null if there is no batch."""
    if here.batch is None:
        return None
    report = batch_report(here.database, here.batch)
    return {
        "name": here.batch.name,
        "procedure": here.batch.procedure,
        "unit_model": here.batch.unit_model,
        "next": report.next_serial,
        "done": report.done,
        "passed": report.passed,
        "first_time": report.first_time,
        "units": plain(report.units),
        "steps": plain(report.steps),
        "pairs": plain(report.pairs),
    }
