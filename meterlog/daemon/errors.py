"""What the daemon says when it will not: at the start, or to a request."""

from meterlog.errors import MeterlogError


class DaemonError(MeterlogError):
    """The daemon cannot start, or a command cannot use the one that runs."""


class NoDaemon(DaemonError):  # noqa: N818 - a state of affairs, not a fault of the program
    """No daemon answers for this data folder."""


class Refusal(DaemonError):  # noqa: N818
    """A request that the daemon does not carry out, in the one shape that all its errors have.

    status  of HTTP
    what, where, do  what is wrong, where, what to do about it
    problems  every single one, where there may be many (a procedure file)
    """

    def __init__(self, status: int, what: str, where: str = "", do: str = "", problems: tuple[str, ...] = ()):
        super().__init__(" ".join(part for part in (f"{where}:" if where else "", what, do) if part))
        self.status = status
        self.what, self.where, self.do = what, where, do
        self.problems = problems

    @property
    def body(self) -> dict[str, object]:
        """The JSON of the answer."""
        error: dict[str, object] = {"what": self.what, "where": self.where, "do": self.do}
        if self.problems:
            error["problems"] = list(self.problems)
        return {"error": error}


def no_session(session_id: int) -> Refusal:
    """404."""
    todo = "Choose one that `meterlog sessions` lists (/api/sessions)."
    return Refusal(404, f"There is no session {session_id}.", do=todo)


def not_stored_yet() -> Refusal:
    """503."""
    what = "The last result is not stored yet, so nothing goes on."
    return Refusal(503, what, "data folder", "Free space on the disk.")
