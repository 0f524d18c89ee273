"""Honest uncertainty on a real record: 700 whole counts with slow noise.

NIST/SEMATECH e-Handbook 1.4.2.4, Josephson junction cryothermometry, voltage counts (SOULEN.DAT);
figures as printed there in tests/reference/nist_handbook/josephson_soulen.toml. The handbook gives no
times; 0.4 s between readings is assumed.
"""

import pytest

from meterlog.accuracy.coverage import coverage_factor
from meterlog.detect import DriftRate, Motion, Settled, Settlement
from tests.detect.signals import column, feed, table

COUNTS = column("nist_handbook/josephson_soulen.csv", "y")
PERIOD_S = 0.4
READINGS = [(i * PERIOD_S, x) for i, x in enumerate(COUNTS)]


def covers(i: int, verdict: Settlement, ahead: int) -> bool:
    """Whether value ± k u holds the mean of the next readings."""
    following = COUNTS[i + 1 : i + 1 + ahead]
    assert verdict.value is not None
    assert verdict.standard_uncertainty is not None
    assert verdict.degrees_of_freedom is not None
    reach = coverage_factor(verdict.degrees_of_freedom) * verdict.standard_uncertainty
    return abs(sum(following) / len(following) - verdict.value) <= reach


@pytest.mark.parametrize("tolerance", [3.0, 5.0])
def test_the_expanded_uncertainty_covers_the_next_ten_seconds_as_often_as_it_says(tolerance: float) -> None:
    """95 % are claimed. The slow noise (correlation 0.315, hardly less at lag 10) has to be learnt first."""
    verdicts = [v for _, v in feed(Settled(lambda _: tolerance, 3.0), READINGS, count=1.0)]
    judged = [covers(i, verdicts[i], 25) for i in range(100, 675) if verdicts[i].motion is Motion.SETTLED]
    assert len(judged) > 500
    assert 0.90 <= sum(judged) / len(judged) <= 0.99


def test_the_claim_holds_at_every_reading_called_settled() -> None:
    """The mean over the next dwell lies within the tolerance; its own noise makes this the harder test."""
    tolerance, dwell_s = 3.0, 3.0
    verdicts = [v for _, v in feed(Settled(lambda _: tolerance, dwell_s), READINGS, count=1.0)]
    ahead = round(dwell_s / PERIOD_S)
    misses = [
        abs(sum(COUNTS[i + 1 : i + 1 + ahead]) / ahead - v.value) > tolerance
        for i, v in enumerate(verdicts[: -ahead - 1])
        if v.motion is Motion.SETTLED and v.value is not None
    ]
    assert len(misses) > 500
    assert not any(misses)


def test_the_drift_over_the_whole_record_is_the_printed_one() -> None:
    """b1 = 1.071e-3 counts per reading, standard deviation 2.409e-4, printed as if readings were independent.

    They are not (lag-1 correlation 0.315, hardly less ten readings on), so the honest error is larger.
    """
    printed = table("nist_handbook/josephson_soulen.toml")["printed"]["straight_line_on_index"]
    drift = feed(DriftRate(700.0), [(float(i), x) for i, x in enumerate(COUNTS)], count=1.0)[-1][1]
    assert drift.rate_per_s == pytest.approx(float(printed["b1"]), rel=0.1)  # the last batch is not full
    assert drift.standard_error is not None
    assert 2.0 * float(printed["b1_sd"]) <= drift.standard_error <= 6.0 * float(printed["b1_sd"])
