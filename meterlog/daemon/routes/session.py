"""The session that runs: begin it, look at it, act on it."""

from datetime import UTC, date, datetime, timedelta
from typing import Annotated, Any, Literal

from fastapi import APIRouter
from pydantic import BaseModel, ConfigDict, Field

from meterlog.accuracy import Environment
from meterlog.daemon.context import Here
from meterlog.daemon.errors import DaemonError, Refusal, no_session
from meterlog.daemon.fit import NotAdequate, notes_of_override, require_fit
from meterlog.daemon.numbers import Celsius
from meterlog.daemon.running import Running
from meterlog.daemon.sessions import Unit
from meterlog.daemon.texts import Line, Words
from meterlog.procedure import ActionKind
from meterlog.records import Commission, list_sessions

router = APIRouter(prefix="/api", tags=["session"])
_WORDLESS = ("go-on", "pause", "resume")
_EAST = timedelta(days=1)
"""By how much the day may be further there than in UTC."""


class Start(BaseModel):
    """`procedure` is the name of one on offer, or the path of a file. `unit_model` must not be blank.

    override: why it is begun although a meter is known not to be good enough for a step; kept as a note.
    temperature_c, humidity_percent: of the place; they can be told anew by the action `environment`.
    customer: name and address, as they gave them; customer_says: what they said of the unit; received: the
    day it came; work_place: where the work is done, if elsewhere than at the laboratory's address.
    """

    model_config = ConfigDict(extra="forbid")

    procedure: Line
    unit_model: Line = ""
    unit_serial: Line = ""
    operator: Line = ""
    batch: Line = ""
    override: Words = ""
    temperature_c: Celsius | None = None
    humidity_percent: Annotated[float, Field(ge=0.0, le=100.0)] | None = None
    customer: Words = ""
    customer_says: Words = ""
    received: date | None = None
    work_place: Line = ""

    @property
    def commission(self) -> Commission:
        return Commission(
            customer=self.customer.strip(),
            customer_says=self.customer_says.strip(),
            received=self.received.isoformat() if self.received else "",
            work_place=self.work_place.strip(),
        )

    @property
    def unit(self) -> Unit:
        return Unit(
            self.unit_model.strip(),
            self.unit_serial,
            self.operator,
            self.batch,
            self.commission,
            Environment(self.temperature_c, self.humidity_percent),
        )


class GoOn(BaseModel):
    """override: why a meter is used that is not good enough for a step, or is another than the one before."""

    model_config = ConfigDict(extra="forbid")

    override: Words = ""


class Action(BaseModel):
    """`text`: the reason of a skip, redo or early end, the note, the row, or what was typed in.
    `place`: what to redo, else the step at hand.

    note        is refused without text; go-on, pause and resume keep none, and are refused with one
    break-off   ends the session here; the unit is not judged, unless it has failed
    inoperable  ends it too: the unit cannot be aligned, and fails. Both are refused without a reason
    environment  such as "24 degC, 40 % RH": so it is from now on
    go-on       while a guard has tripped: the level is back inside. Refused as long as it is not
    other-meter another meter than before answers, and is meant. Refused without a reason
    """

    model_config = ConfigDict(extra="forbid")

    kind: Literal[
        "go-on", "redo", "redo-row", "skip", "skip-row", "note", "pause", "resume",
        "enter", "break-off", "inoperable", "set-aside", "environment", "other-meter",
    ]  # fmt: skip
    text: Words = ""
    place: Annotated[int, Field(ge=0, le=10_000)] | None = None


@router.post("/sessions")
def begin(start: Start, here: Here) -> dict[str, int]:
    """Begin a session. 409: one is running; 422: every problem of the procedure, or of the bench for it, and
    every step that a meter is not good enough for, unless `override` says why it is begun all the same."""
    if not start.unit_model.strip():
        raise Refusal(422, "It is blank.", "unit", "Write which model is to be aligned.")
    if start.received and start.received > datetime.now(UTC).date() + _EAST:
        raise Refusal(422, f"{start.received} is still to come.", "received", "Write the day the unit came.")
    procedure = here.library.find(start.procedure)
    require_fit(here.bench, procedure)
    notes = notes_of_override(here.bench, procedure, start.override.strip(), start.temperature_c)
    return {"id": here.runner.begin(lambda: here.sessions.begin(procedure, start.unit, notes))}


@router.post("/sessions/{session_id}/go-on")
def go_on_with(session_id: int, here: Here, how: GoOn | None = None) -> dict[str, int]:
    """Go on with a session that was set aside or left. 404, 409: none such, or another one is running.

    422: it cannot, or a meter is not good enough for a step and no `override` says why it is used all the
    same. With an `override` other meters than before are meant, those that have answered by now.
    """
    known = {header.id: header for header in list_sessions(here.database)}
    if session_id not in known:
        raise no_session(session_id)
    if known[session_id].ended is not None:
        raise Refusal(409, f"Session {session_id} has ended.", "", "Begin a new one.")
    override = how.override.strip() if how else ""
    number = here.runner.begin(lambda: _gone_on(here, session_id, override))
    if override:
        here.runner.act(ActionKind.OTHER_METER, override)  # refused where all are the same as before
    return {"id": number}


def _gone_on(here: Here, session_id: int, override: str) -> Running:
    try:
        return here.sessions.go_on_with(session_id, override)
    except NotAdequate:
        raise
    except DaemonError as error:
        raise Refusal(422, str(error), "record", "Use a bench that fits, or begin a new session.") from error


@router.get("/session")
def view(here: Here) -> dict[str, Any]:
    """What to see and hear now, as in the live stream. 404: no session has run since the daemon started."""
    now = here.runner.view()
    if now is None:
        raise Refusal(404, "No session is running.", do="Begin one.")
    return now


@router.post("/session/action")
def act(action: Action, here: Here) -> dict[str, Any]:
    """What the operator did. Accepted means that it is on the disk."""
    if refused := _refused(action.kind, action.text.strip()):
        return {"accepted": False, "message": refused}
    reply = here.runner.act(ActionKind(action.kind), action.text.strip(), action.place)
    return {"accepted": reply.accepted, "message": reply.message}


def _refused(kind: str, text: str) -> str:
    """Words that would get lost, and a note without any."""
    if kind == "note" and not text:
        return "the note is empty: write what is to be kept"
    if kind in _WORDLESS and text:
        return f"{kind} keeps no text: send it without, and the text as a note"
    return ""
