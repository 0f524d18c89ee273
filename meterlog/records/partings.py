"""How people parted from sessions before their last step: broken off, called inoperable, or set aside."""

from dataclasses import dataclass

from sqlalchemy import Engine, select

from meterlog.procedure import ActionKind
from meterlog.records import schema
from meterlog.records.engine import reading

_GONE_ON = (ActionKind.INTERRUPTED, ActionKind.OTHER_BENCH)
_TELLING = (ActionKind.BREAK_OFF, ActionKind.INOPERABLE, ActionKind.SET_ASIDE, *_GONE_ON)


@dataclass(frozen=True, slots=True)
class Parting:
    """`reason` is "" where none was given."""

    kind: ActionKind
    reason: str


def partings(engine: Engine) -> dict[int, Parting]:
    """By the session's number. A session that was gone on with after it had been set aside is not in it."""
    actions = schema.actions.c
    wanted = select(actions.session_id, actions.kind, actions.text).where(actions.kind.in_(_TELLING))
    with reading(engine) as connection:
        rows = connection.execute(wanted.order_by(actions.sequence))
        last = {session_id: Parting(ActionKind(kind), reason) for session_id, kind, reason in rows}
    return {number: one for number, one in last.items() if one.kind not in _GONE_ON}
