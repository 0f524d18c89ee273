"""One whole frame of a meter that nobody knows yet: what comes between two pauses."""

from meterlog.bench.clock import Clock
from meterlog.bench.errors import BenchError
from meterlog.bench.find.listening import KEEP_BYTES
from meterlog.reading import Wire

PAUSE_S = 0.05
"""USB adapters deliver in blocks some 16 ms apart (common practice); frames are further apart."""
_SLICE_S = 0.01


def next_frame(wire: Wire, clock: Clock, wait_s: float = 6.0) -> bytes:
    """The first one that begins after now. BenchError: none came, or there was no pause. Raises WireLost."""
    end_ns = clock.monotonic_ns() + round(wait_s * 1e9)
    _burst(wire, clock, end_ns)  # the rest of the one that comes just now
    while clock.monotonic_ns() < end_ns:
        if frame := _burst(wire, clock, end_ns):
            return frame
    raise BenchError(f"no whole frame came within {wait_s:g} s; is the meter on, the line the right one?")


def _burst(wire: Wire, clock: Clock, end_ns: int) -> bytes:
    """What comes until there is a pause; b"" at a pause, or where there is none."""
    found = b""
    quiet_since_ns = clock.monotonic_ns()
    while (now_ns := clock.monotonic_ns()) < end_ns and now_ns - quiet_since_ns < PAUSE_S * 1e9:
        if data := wire.read(_SLICE_S):
            found = (found + data)[-KEEP_BYTES:]
            quiet_since_ns = clock.monotonic_ns()
    return found if clock.monotonic_ns() < end_ns else b""
