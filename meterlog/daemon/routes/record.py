"""The sessions in the record: list, summary, readings, report, exports."""

import tempfile
from datetime import UTC, datetime, timedelta
from itertools import islice
from pathlib import Path
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends, Query
from fastapi.responses import FileResponse, HTMLResponse, Response
from pydantic import BaseModel, ConfigDict
from starlette.background import BackgroundTask

from meterlog.daemon.as_json import plain
from meterlog.daemon.context import Here
from meterlog.daemon.errors import no_session
from meterlog.daemon.messages import settled_json
from meterlog.daemon.scales import Scales
from meterlog.daemon.texts import Line, Words
from meterlog.export import write_export
from meterlog.records import (
    Parting,
    SessionHeader,
    build_engine,
    iter_readings,
    list_issued,
    list_sessions,
    load_session,
    partings,
    standing_numbers,
)
from meterlog.report import Form, Paper, issued_again, open_session
from meterlog.report.bench_text import read_bench_text
from meterlog.report.condition import condition_of

router = APIRouter(prefix="/api/sessions", tags=["record"])
# A report holds its own style and pictures, and nothing in it may run or load anything.
_REPORT_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'self'"
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def _known(session_id: int, here: Here) -> int:
    if session_id not in {header.id for header in list_sessions(here.database)}:
        raise no_session(session_id)
    return session_id


SessionId = Annotated[int, Depends(_known)]
Format = Literal["html", "pdf"]


@router.get("")
def sessions(here: Here) -> list[dict[str, Any]]:
    """All of them, the newest first. `parting`: break-off, inoperable, set-aside or "", with its `reason`;
    `issued_numbers`: those of the reports handed over that no other replaces."""
    parted, issued = partings(here.database), standing_numbers(list_issued(here.database))
    return [
        _line(header, parted.get(header.id)) | {"issued_numbers": issued.get(header.id, [])}
        for header in list_sessions(here.database)
    ]


@router.get("/{session_id}")
def summary(session_id: SessionId, here: Here) -> dict[str, Any]:
    """Everything but the readings. `condition`: of the unit, as the report's head says it, and why; `trips`:
    guards that tripped; `commission`: for whom; `issued`: the reports handed over, each with the `forms` that
    are kept of it. Temperature and humidity are `actions` of the kind environment."""
    record = load_session(here.database, session_id)
    scales = Scales(read_bench_text(record.bench_text).shows, build_engine(record).procedure)
    return _line(record.header, partings(here.database).get(session_id)) | {
        "instruments": plain(record.instruments),
        "actions": plain(record.actions),
        "settled": [settled_json(settled, scales) for settled in record.settled_values],
        "trips": plain(record.guard_trips),
        "condition": plain(condition_of(open_session(here.database, session_id))),
        "commission": plain(record.commission),
        "issued": [plain(one) for one in list_issued(here.database) if one.session_id == session_id],
        "endings": [plain(ending) for ending in record.step_endings],
    }


@router.get("/{session_id}/readings")
def readings(
    session_id: SessionId,
    here: Here,
    channel: str | None = None,
    from_ns: Annotated[int, Query(ge=0, lt=2**63)] = 0,
    limit: Annotated[int, Query(ge=1, le=100_000)] = 10_000,
) -> list[dict[str, Any]]:
    """Raw readings in order, `at_ns` >= from_ns. For the next page ask from the last `at_ns` + 1."""
    found = iter_readings(here.database, session_id, channel, from_ns)
    return [{"at_ns": event.at_ns, **plain(event.reading)} for event in islice(found, limit)]


@router.get("/{session_id}/report", response_class=HTMLResponse)
def report(
    session_id: SessionId,
    here: Here,
    *,
    format: Format = "html",  # noqa: A002 - its name in the API
    sheet: bool = False,
    paper: Paper = Paper.A4,
    customer: Annotated[str, Query(max_length=300)] = "",
) -> Response:
    """The tolerance report as one HTML page or as PDF/A; `sheet`: one page for the customer."""
    name = f"session-{session_id}{'-sheet' if sheet else ''}.{format}"
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        here.press.write(session_id, path, Form(sheet=sheet, paper=paper, customer=customer))
        return _shown(path.read_bytes(), name)


def _shown(made: bytes, name: str) -> Response:
    if name.endswith(".html"):
        return HTMLResponse(made, headers={"Content-Security-Policy": _REPORT_POLICY})
    headers = {"Content-Disposition": f'inline; filename="{name}"'}
    return Response(made, media_type="application/pdf", headers=headers)


class Issue(BaseModel):
    """`format`: in which form it is handed over. `replaces`: number of the report that it stands in for, and
    why (`because`). `customer`: in place of the one kept with the session."""

    model_config = ConfigDict(extra="forbid")

    sheet: bool = False
    format: Format = "pdf"
    paper: Paper = Paper.A4
    customer: Words = ""
    replaces: Line = ""
    because: Words = ""


@router.post("/{session_id}/issue")
def issue(session_id: SessionId, issue: Issue, here: Here) -> dict[str, Any]:
    """Hand the report over, under a `number` of its own; its file is kept, and its other form where that can
    be made (`forms`): see /issued. 422: the session has not ended, one was issued that this one does not
    replace, none is there to be replaced, or no font has its characters: then `format` html."""
    form = Form(issue=True, **issue.model_dump(exclude={"format"}))
    with tempfile.TemporaryDirectory() as folder:
        number = here.press.write(session_id, Path(folder) / f"issued.{issue.format}", form)
    return next(plain(one) for one in list_issued(here.database) if one.number == number)


@router.get("/{session_id}/issued/{number}", response_class=HTMLResponse)
def issued(
    session_id: SessionId,
    number: str,
    here: Here,
    format: Format = "html",  # noqa: A002 - its name in the API
) -> Response:
    """A report that was issued, byte for byte as it was. 404: none under this number, or not kept so."""
    return _shown(issued_again(here.database, session_id, number, format), f"issued-{number}.{format}")


@router.get("/{session_id}/export", response_class=FileResponse)
def export(session_id: SessionId, here: Here, format: str = "csv") -> FileResponse:  # noqa: A002 - its name in the API
    """The settled values as a file in one of the export formats."""
    folder = tempfile.TemporaryDirectory()
    try:
        name = f"session-{session_id}.{format.partition('-')[0]}"
        write_export(here.database, session_id, format, path := Path(folder.name) / name)
    except Exception:
        folder.cleanup()
        raise
    return FileResponse(path, filename=name, background=BackgroundTask(folder.cleanup))


def _line(header: SessionHeader, parting: Parting | None) -> dict[str, Any]:
    ended = header.ended
    return {
        "id": header.id,
        "unit": f"{header.unit_model} {header.unit_serial}".strip(),
        "procedure": header.procedure_title,
        "operator": header.operator,
        "batch": header.batch,
        "began": _iso(header.began_time_ns),
        "ended": _iso(header.began_time_ns + ended.at_ns) if ended else None,
        "verdict": str(ended.verdict) if ended else None,
        "parting": str(parting.kind) if parting else "",
        "reason": parting.reason if parting else "",
    }


def _iso(time_ns: int) -> str:
    """Local time with its offset, so that it is right in summer and in winter."""
    return (_EPOCH + timedelta(microseconds=time_ns // 1000)).astimezone().isoformat(timespec="seconds")
