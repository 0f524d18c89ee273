"""What became of the sessions, said while none is being worked on: how it ended, what waits, what to type."""

from typing import Any

from meterlog.cli.said import what_next

_MOST = 5  # waiting sessions that are named

Json = dict[str, Any]


def at_rest(live: Json | None) -> tuple[int | None, bool]:
    """The session that the newest message is about, and whether no work goes on in it."""
    if live is None:
        return None, False
    view = live["view"]
    return live["session"], view is None or view["state"] == "ended"


def resting_text(sessions: list[Json], ended: int | None) -> str:
    """`sessions` as the daemon lists them, the newest first; `ended`: the one that has just ended, if any."""
    if ended is not None:
        return "\n".join(what_next(one) for one in sessions if one["id"] == ended)
    waiting = [what_next(one) for one in sessions if one["verdict"] is None]
    more = [f"and {len(waiting) - _MOST} more: meterlog sessions"] if len(waiting) > _MOST else []
    return "\n".join([*waiting[:_MOST], *more])
