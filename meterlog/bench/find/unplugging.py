"""Unplug the one you mean: which port went, and as what it came back. Pure: looks in, words out."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from meterlog.bench.find.ports import NamedPort

STAYS_S = 2.0
"""A service that takes an adapter does so about half a second after it is plugged in."""


class Stage(StrEnum):
    """WAITING for one to go or to come; GONE: one has gone; BACK: one has come, and is watched.

    Then it STAYED, or was TAKEN. SEVERAL went at once: nobody can tell which was meant.
    """

    WAITING = "waiting"
    GONE = "gone"
    BACK = "back"
    STAYED = "stayed"
    TAKEN = "taken"
    SEVERAL = "several"


@dataclass(frozen=True, slots=True)
class Unplugging:
    """Where it stands. `port` is the one that is meant, as it is named now; None while nobody knows."""

    ports: tuple[NamedPort, ...]
    stage: Stage = Stage.WAITING
    port: NamedPort | None = None
    since_s: float = 0.0

    @property
    def is_over(self) -> bool:
        return self.stage in (Stage.STAYED, Stage.TAKEN, Stage.SEVERAL)


def look(at: Unplugging, ports: Sequence[NamedPort], now_s: float) -> Unplugging:
    """What one more look at the ports tells."""
    match at.stage:
        case Stage.WAITING:
            return _going(at, ports, now_s)
        case Stage.GONE:
            came = difference(ports, at.ports)
            return Unplugging(tuple(ports), Stage.BACK, came[0], now_s) if came else at
        case Stage.BACK:
            return _staying(at, ports, now_s)
    return at


def difference(those: Sequence[NamedPort], others: Sequence[NamedPort]) -> list[NamedPort]:
    """Ports among those that are not among the others, by the system's own name."""
    known = {named.port.device for named in others}
    return [named for named in those if named.port.device not in known]


def _going(at: Unplugging, ports: Sequence[NamedPort], now_s: float) -> Unplugging:
    gone = difference(at.ports, ports)
    if len(gone) > 1:
        return Unplugging(tuple(ports), Stage.SEVERAL, since_s=now_s)
    if gone:
        return Unplugging(tuple(ports), Stage.GONE, gone[0], now_s)
    came = difference(ports, at.ports)  # it was not plugged in when this began
    return Unplugging(tuple(ports), Stage.BACK, came[0], now_s) if came else at


def _staying(at: Unplugging, ports: Sequence[NamedPort], now_s: float) -> Unplugging:
    assert at.port is not None
    device = at.port.port.device
    here = next((named for named in ports if named.port.device == device), None)
    if here is None:
        return Unplugging(tuple(ports), Stage.TAKEN, at.port, now_s)
    stage = Stage.STAYED if now_s - at.since_s >= STAYS_S else Stage.BACK
    return Unplugging(tuple(ports), stage, here, at.since_s)  # its lasting names may come a moment later
