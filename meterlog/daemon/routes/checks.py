"""The meters themselves: their checks against references, and the sessions that one found outside touched."""

from datetime import UTC, date, datetime
from typing import Annotated, Any

from fastapi import APIRouter, Query

from meterlog.checking.as_plain import history_plain, touched_plain
from meterlog.checking.history import histories
from meterlog.checking.touched import doubts, touched
from meterlog.daemon.context import Here
from meterlog.records import list_meter_checks

router = APIRouter(prefix="/api/checks", tags=["checks"])

Name = Annotated[str, Query(max_length=200)]


@router.get("")
def checks(here: Here, meter: Name = "", point: Name = "", since: date | None = None) -> list[dict[str, Any]]:
    """One history for each meter, point and reference, values in base units. `meter`: name or serial number;
    `since`: a day (UTC)."""
    found = histories(list_meter_checks(here.database), meter=meter, point=point, since=since)
    return [history_plain(one, datetime.now(UTC).date()) for one in found]


@router.get("/touched")
def touched_sessions(here: Here, meter: Name, since: date | None = None) -> list[dict[str, Any]]:
    """Sessions since the meter was last found inside, empty if it is not outside now; with `since` from that
    day on in any case."""
    found = doubts(list_meter_checks(here.database), meter, since)
    return [touched_plain(one, touched(here.database, one)) for one in found]
