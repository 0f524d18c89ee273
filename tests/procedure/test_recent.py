"""The level as the hand is guided by it, on readings that come together."""

from meterlog.procedure.patterns.recent import Recent
from meterlog.quantity import Span


def test_readings_of_one_moment_are_no_speed() -> None:
    recent = Recent(Span(0.1, "dB"))
    for at_s, value in ((0.0, 1.0), (0.2, 1.001), (0.4, 1.002), (0.4, 1.003), (0.4, 1.004)):
        recent.feed(at_s, value)
    assert recent.soon(0.3) is not None
