"""A step with known settled point: tests/reference/steady_state/step_response.toml.

10 (1 - exp(-i/8)) plus a fixed pattern of eleven values, computed for comparison. The ratio-of-variances
test (Cao and Rhinehart, J. Process Control 5(6) 1995) calls it moving until reading 120.
"""

import pytest

from meterlog.detect import Motion, Settled
from tests.detect.signals import column, feed, table

DWELL_READINGS = 12


def test_settles_a_dwell_after_the_level_is_within_tolerance_for_good() -> None:
    expected = table("steady_state/step_response.toml")
    readings = list(zip(*(column("steady_state/step_response.csv", name) for name in "ix"), strict=True))
    verdicts = feed(Settled(lambda _: 0.02, float(DWELL_READINGS), horizon_s=24.0), readings, count=0.0001)
    at, verdict = next((i, v) for i, v in verdicts if v.motion is Motion.SETTLED)
    within = expected["truth"]["first_reading_within_0_02_for_good"]
    assert within <= at <= within + 2 * DWELL_READINGS
    assert at < expected["r_statistic"]["first_below_2"]
    assert verdict.value == pytest.approx(expected["series"]["final_value"], abs=0.02)


def test_once_settled_it_stays_and_ends_near_the_published_mean() -> None:
    expected = table("steady_state/step_response.toml")
    readings = list(zip(*(column("steady_state/step_response.csv", name) for name in "ix"), strict=True))
    verdicts = feed(Settled(lambda _: 0.02, float(DWELL_READINGS), horizon_s=24.0), readings, count=0.0001)
    first = next(n for n, (_, v) in enumerate(verdicts) if v.motion is Motion.SETTLED)
    assert all(v.motion is Motion.SETTLED for _, v in verdicts[first:])
    assert not any(v.revised for _, v in verdicts)
    assert verdicts[-1][1].value == pytest.approx(expected["mser5"]["mean_of_the_rest"], abs=0.003)
