"""A year of weekly checks: the week in which a known drift is found, against theory; a steady meter is
silent; the sessions that a meter found outside touched are listed."""

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from statistics import stdev

import numpy as np
import pytest
from scipy.stats import t
from sqlalchemy import Engine

from meterlog.checking.charts import ALLOWANCE, DECISION, WEIGHT, Charts
from meterlog.checking.history import PointHistory, histories
from meterlog.checking.judged import Standing
from meterlog.checking.notices import notices
from meterlog.checking.said import history_words
from meterlog.checking.touched import doubts, touched
from meterlog.records import Writer, add_meter_check, list_meter_checks, migrate, open_engine
from tests.checking.theory import cusum_survival, ewma_survival, individuals_survival, weeks_between
from tests.checking.year import REFERENCE_V, SCATTER, STEADY, Year, session, week

WEEKS = 52
PER_WEEK = 2.4e-6  # 0.3 of the scatter


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Engine]:
    engine = open_engine(tmp_path / "record.sqlite3")
    migrate(engine)
    yield engine
    engine.dispose()


def history_of(record: Engine) -> PointHistory:
    (found,) = histories(list_meter_checks(record))
    return found


def find_expected(name: str, found: Charts) -> tuple[int, int]:
    """Weeks after the drift's beginning, 99 % of all finds; in units of the scatter the theory's."""
    unit = SCATTER * REFERENCE_V
    means = [PER_WEEK / SCATTER * (number + 1) for number in range(200)]
    if name == "individuals":
        edges = found.individuals.low[-1] / unit, found.individuals.high[-1] / unit
        return weeks_between(individuals_survival(*edges, means), 0.99)
    if name == "EWMA":
        edges, start = (found.ewma.low[-1] / unit, found.ewma.high[-1] / unit), found.ewma.points[STEADY - 1]
        return weeks_between(ewma_survival(*edges, WEIGHT, start / unit, means), 0.99)
    sums = ALLOWANCE * found.sd / unit, DECISION * found.sd / unit, found.centre / unit
    return weeks_between(cusum_survival(*sums, found.cusum.high[STEADY - 1] / unit, means), 0.99)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_drift_is_found_in_the_weeks_that_theory_says(record: Engine, tmp_path: Path, seed: int) -> None:
    """20 steady weeks, then 2.4 ppm a week against a scatter of 8 ppm. What a single check is not known to
    (some readings' scatter, 2 ppm each) is small beside that of the weeks, so the theory has theirs alone."""
    Year(tmp_path, PER_WEEK, seed).kept(record, WEEKS)
    found = history_of(record).charts
    assert found is not None
    for name, places in found.alarms.items():
        first = next(place for place in places if place >= STEADY) - STEADY + 1
        earliest, latest = find_expected(name, found)
        assert earliest <= first <= latest, (name, earliest, first, latest)
        assert latest < WEEKS - STEADY  # the year is long enough to prove something


def test_a_steady_meter_is_silent(record: Engine, tmp_path: Path) -> None:
    """With this seed; how often chance cries out is in test_charts.py."""
    checks = Year(tmp_path, 0.0, 4).kept(record, WEEKS)
    found = history_of(record)
    assert found.charts is not None
    assert not any(found.charts.alarms.values())
    assert found.outlook == (None, "no slope that chance could not make")
    assert {one.standing for one in found.checks} == {Standing.INSIDE}
    assert doubts(checks, "bench meter") == []
    assert stdev(found.errors) == pytest.approx(SCATTER * REFERENCE_V, rel=0.3)
    assert found.last.kept.allowed == pytest.approx(10.0 * 40e-6 + 10.0 * 8e-6, rel=1e-4)  # the shipped class


def test_sessions_since_the_last_good_check_are_listed(record: Engine, tmp_path: Path) -> None:
    """One session in the middle of each week. 9 ppm a week reaches what is allowed, 48 ppm, in the sixth
    week of drift (25); by chance, 8 ppm, a week sooner or later."""
    writer = Writer(record)
    sessions = [session(writer, week(number) + timedelta(days=3)) for number in range(30)]
    other = session(writer, week(26), meter="other meter", serial="S-777")
    same_name = session(writer, week(26), serial="S-888")
    writer.close()
    Year(tmp_path, 9e-6, 5).kept(record, 28)
    inside = [one.standing is Standing.INSIDE for one in history_of(record).checks]
    last_good = max(number for number, good in enumerate(inside) if good)
    assert 22 <= last_good <= 26
    (doubt,) = doubts(list_meter_checks(record), "bench meter")
    listed = touched(record, doubt)
    assert [one.session.id for one in listed] == sessions[last_good:]
    assert not {other, same_name} & {one.session.id for one in listed}
    assert [one.values for one in listed] == [2] * len(listed)
    assert [one.known for one in listed] == [False] + [True] * (len(listed) - 1)
    assert doubts(list_meter_checks(record), "S-001") == [doubt]
    since = doubts(list_meter_checks(record), "S-001", week(28).date())
    assert [one.session.id for one in touched(record, since[0])] == sessions[28:]


def test_what_is_said_before_a_session(record: Engine, tmp_path: Path) -> None:
    """Outside in the 28th week, and the next check, a week later at the latest, forgotten."""
    year = Year(tmp_path, 9e-6, 5)
    year.kept(record, 28)
    own, meters = histories(list_meter_checks(record)), year.bench.meters
    (line,) = notices(own, meters, week(28).date())
    assert line.startswith(
        "the meter bench meter (S-001) was outside at its last check of 10 V dc on 2026-07-13: "
    )
    late = notices(own, meters, week(30).date())
    assert late == [
        line,
        "the meter bench meter (S-001): its check of 10 V dc was due on 2026-07-20, 14 days ago",
    ]
    assert notices(own, [], week(30).date()) == []
    another = [meters[0].model_copy(update={"serial_number": "S-999"})]
    assert notices(own, another, week(30).date()) == []


def prediction_edge(history: PointHistory, day: date) -> float:
    """Upper edge of the 95 % interval for a single check, NIST/SEMATECH e-Handbook 4.5.1.2, by numpy."""
    first = history.checks[0].day
    x = np.array([(one.day - first).days for one in history.checks], dtype=float)
    slope, height = np.polyfit(x, history.errors, 1)
    left = np.array(history.errors) - slope * x - height
    at, n = (day - first).days, len(x)
    spread = 1.0 + 1.0 / n + (at - x.mean()) ** 2 / ((x - x.mean()) ** 2).sum()
    return float(slope * at + height + t.ppf(0.975, n - 2) * (left @ left / (n - 2) * spread) ** 0.5)


def test_until_when_it_will_be_inside(record: Engine, tmp_path: Path) -> None:
    """1 ppm a week from the first check on; what the reference is not known to (50 uV) is off the limits."""
    year = Year(tmp_path, 1e-6, 6)
    for number in range(STEADY, STEADY + 20):
        add_meter_check(record, year.check(number), year.papers())
    found = history_of(record)
    until, why = found.outlook
    assert why == ""
    assert until is not None
    assert week(STEADY + 20).date() < until < week(STEADY + 43).date()  # where the truth alone gets there
    limit = (found.last.kept.allowed or 0.0) - 50e-6
    assert prediction_edge(found, until) <= limit < prediction_edge(found, until + timedelta(days=1))
    assert f"until about {until} (95 %)" in " ".join(history_words(found, date(2027, 1, 1)))
