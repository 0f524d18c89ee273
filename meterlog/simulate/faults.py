"""What can be wrong with a meter's line, on request of a test or of the page."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from typing import Protocol

from meterlog.simulate.errors import SimulateError


@dataclass(frozen=True, slots=True)
class Faults:
    """silent: nothing is sent; late_s: everything is sent so much later; noise_bytes: foreign bytes before
    each frame or answer."""

    silent: bool = False
    late_s: float = 0.0
    noise_bytes: int = 0


class Port(Protocol):
    """A meter on a real wire. Every call is safe from any thread and returns at once."""

    name: str
    faults: Faults

    @property
    def plugged(self) -> bool: ...

    @property
    def address(self) -> str:
        """What a bench file says to reach it."""

    def start(self) -> None:
        """Switch the meter on, its lead in. OSError: another program has its port."""

    def close(self) -> None:
        """Switch it off for good."""

    def plug(self) -> None:
        """Put the lead in; nothing happens when it is in."""

    def unplug(self) -> None:
        """Pull the lead out: whoever has it open loses the line."""


LATE_LIMIT_S, NOISE_LIMIT = 60.0, 10_000


def apply(port: Port, asked: Mapping[str, object]) -> None:
    """Change a meter's faults: any of plugged, silent (true or false), late_s (seconds), noise_bytes.

    Raises SimulateError, and changes nothing, when one of them makes no sense.
    """
    wanted = dict(asked)
    plugged = wanted.pop("plugged", None)
    kinds = {"silent": _flag, "late_s": _late, "noise_bytes": _noise}
    unknown = set(wanted) - set(kinds)
    if unknown:
        raise SimulateError(f"no fault {unknown.pop()!r}; there are plugged, {', '.join(kinds)}")
    changes = {name: kinds[name](name, value) for name, value in wanted.items()}
    if plugged is not None:
        _flag("plugged", plugged)
    port.faults = replace(port.faults, **changes)  # type: ignore[arg-type]
    if plugged is not None:
        (port.plug if plugged else port.unplug)()


def describe(port: Port) -> dict[str, object]:
    """The state of one meter's line, as the control server shows it."""
    return {"address": port.address, "plugged": port.plugged, **asdict(port.faults)}


def _flag(name: str, value: object) -> bool:
    if isinstance(value, bool):
        return value
    raise SimulateError(f"{name}: {value!r} is neither true nor false")


def _late(name: str, value: object) -> float:
    if isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= LATE_LIMIT_S:
        return float(value)
    raise SimulateError(f"{name}: {value!r} is no number of seconds from 0 to {LATE_LIMIT_S:g}")


def _noise(name: str, value: object) -> int:
    if isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= NOISE_LIMIT:
        return value
    raise SimulateError(f"{name}: {value!r} is no whole number from 0 to {NOISE_LIMIT}")
