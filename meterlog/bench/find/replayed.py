"""What a meter shows, by the bytes already heard from it: nothing is opened, nothing is sent.

The driver gets a wire that gives these bytes once and then is lost, on a clock that runs only while it waits.
"""

from contextlib import closing, suppress

from meterlog.bench.drivers import line_for
from meterlog.bench.find.candidates import Match
from meterlog.reading import Driver, Indication, Settings, WireLost

_MOST_POLLS = 200


def shown(driver: Driver, match: Match, data: bytes) -> list[Indication]:
    """The newest indication of each display, by display; empty where what was heard holds no reading."""
    newest: dict[int, Indication] = {}
    wire = _Replay(data)
    settings = Settings(dialect=match.dialect)
    with suppress(Exception), closing(driver.connect(wire, settings, wire.monotonic_ns)) as meter:
        # Drivers are strangers; the end of the bytes ends the polling by WireLost.
        for _ in range(_MOST_POLLS):
            newest |= {one.display: one for one in meter.poll(1.0)}
    return [newest[display] for display in sorted(newest)]


def differing(driver: Driver, match: Match) -> dict[str, int | float | str | bool]:
    """What [meter.line] must say because the driver by itself would open the port otherwise."""
    if match.line is None:
        return {}
    own = driver.line
    with suppress(Exception):
        own = line_for(driver, Settings(dialect=match.dialect))
    names = ("baud", "data_bits", "parity", "stop_bits", "dtr", "rts")
    return {
        name: getattr(match.line, name)
        for name in names
        if getattr(match.line, name) not in (None, getattr(own, name))
    }


class _Replay:
    """See `meterlog.reading.Wire`."""

    def __init__(self, data: bytes) -> None:
        self._data = data
        self._now_ns = 0

    def monotonic_ns(self) -> int:
        return self._now_ns

    def read(self, wait_s: float) -> bytes:
        self._now_ns += round(wait_s * 1e6)  # time must pass, or a driver might wait for ever
        if not self._data:
            raise WireLost("all that was heard has been read")
        data, self._data = self._data, b""
        return data

    def write(self, data: bytes) -> None:
        pass

    def drop_input(self) -> None:
        pass

    def close(self) -> None:
        pass
