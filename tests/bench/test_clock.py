"""The two clocks."""

from meterlog.bench import SystemClock
from meterlog.bench.clock import utc_of
from meterlog.testing import FakeClock


def test_the_wall_time_of_a_moment_does_not_depend_on_when_it_is_asked() -> None:
    clock = FakeClock()
    moment_ns = clock.now_ns
    at_once_ns = utc_of(moment_ns, clock)
    clock.pass_s(5.0)
    assert utc_of(moment_ns, clock) == at_once_ns == moment_ns + clock.utc_offset_ns


def test_the_systems_clock_counts_in_nanoseconds() -> None:
    """1e18 ns since 1970 is September 2001, 1e19 is in the year 2286."""
    clock = SystemClock()
    assert 10**18 < clock.utc_ns() < 10**19
    assert clock.monotonic_ns() <= clock.monotonic_ns()
