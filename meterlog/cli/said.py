"""What the terminal says of an action that was accepted, and of how a session stands."""

from typing import Any

_EARLY = {"break-off": "broken off", "inoperable": "inoperable"}


def accepted(kind: str, text: str = "") -> str:
    """With what was kept of it."""
    return f"{kind}: accepted" + (f" ({text})" if text else "")


def standing(verdict: str | None, parting: str, reason: str) -> str:
    """How a session stands, in one phrase, with the reason where one was given. No verdict: it is open."""
    why = f": {reason}" if reason else ""
    if verdict is None:
        return f"set aside{why}" if parting == "set-aside" else "not ended"
    return f"{verdict}, {_EARLY[parting]}{why}" if parting in _EARLY else verdict


def what_next(session: dict[str, Any]) -> str:
    """A session of the daemon's list with its standing; on the next line the command that comes next."""
    number, unit = session["id"], session["unit"]
    stands = standing(session["verdict"], session["parting"], session["reason"])
    todo = (
        f"go on with it: meterlog resume {number}"
        if session["verdict"] is None
        else f"its report: meterlog report {number}"
    )
    return f"Session {number} ({unit}, {session['procedure']}): {stands}\n  {todo}"
