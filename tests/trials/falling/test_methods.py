"""The methods against their published examples and against what follows from their definition."""

import csv
import tomllib
from pathlib import Path
from random import Random

import pytest

from meterlog.reading import State
from tests.trials.falling.contest import tuned
from tests.trials.falling.methods.charts import Cusum, Ewma, ewma, upper_cusum
from tests.trials.falling.methods.habits import InARow, ShortMean
from tests.trials.falling.methods.intake import Point
from tests.trials.falling.methods.known import KNOWN, Known
from tests.trials.falling.methods.lines import ShortLine, least_squares
from tests.trials.falling.methods.tracking import AlphaBeta, gains
from tests.trials.falling.ours import Ours
from tests.trials.falling.trial import Method, Task
from tests.trials.shown import Shown

HANDBOOK = Path(__file__).parent / "reference"
STRD = Path(__file__).parents[2] / "reference" / "nist_strd"
TASK = Task(peak=1.0, target=0.9, period_s=0.1)


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(newline="") as lines:
        return list(csv.DictReader(lines))


def announced_at(method: Method, gone: list[float], task: Task = TASK) -> float | None:
    """Way gone when announced; a reading every 0.1 s."""
    level = [task.peak + x * (task.target - task.peak) for x in gone]
    shown = (Shown(0.1 * i, x) for i, x in enumerate(level))
    return next((x for x, reading in zip(gone, shown, strict=True) if method.update(reading)), None)


EVEN = [0.02 * i for i in range(120)]


def test_ewma_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.4: 20 printed values, two decimals."""
    given = tomllib.loads((HANDBOOK / "ewma_6_3_2_4.toml").read_text())["given"]
    average = given["target"]
    for row in rows(HANDBOOK / "ewma_6_3_2_4.csv"):
        average = ewma(average, float(row["y"]), given["lambda"])
        assert average == pytest.approx(float(row["ewma_printed"]), abs=0.00501)


def test_cusum_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.3: the upper sums, and alarms from group 14 on."""
    table = tomllib.loads((HANDBOOK / "cusum_6_3_2_3.toml").read_text())
    given, total, alarms = table["given"], 0.0, []
    for row in rows(HANDBOOK / "cusum_6_3_2_3.csv"):
        total = upper_cusum(total, float(row["y"]), given["target"], given["k"])
        assert total == pytest.approx(float(row["s_hi_printed"]), abs=0.00501)
        if total > given["h"]:
            alarms.append(int(row["group"]))
    assert alarms == table["printed"]["signal_groups"]


def test_line_of_the_certified_data() -> None:
    """NIST StRD, Norris: slope and intercept certified to 15 digits."""
    certified = tomllib.loads((STRD / "norris_certified.toml").read_text())["norris"]
    line = least_squares([Point(float(r["x"]), float(r["y"])) for r in rows(STRD / "norris.csv")])
    assert line.slope == pytest.approx(float(certified["b1"]), rel=1e-12)
    assert line.at(0.0) == pytest.approx(float(certified["b0"]), rel=1e-10)


def test_a_line_through_a_line_is_that_line() -> None:
    line = least_squares([Point(t, 3.0 - 0.7 * t) for t in (0.0, 0.1, 0.35, 0.4)])
    assert line.at(2.0) == pytest.approx(1.6)


def test_a_line_through_one_time_is_level() -> None:
    assert least_squares([Point(1.0, 0.5), Point(1.0, 0.7)]).at(9.0) == pytest.approx(0.6)


def test_the_short_line_announces_even_turning_at_the_target() -> None:
    assert announced_at(ShortLine(TASK, seconds=0.5, fewest=3), EVEN) == pytest.approx(1.0, abs=0.021)


def test_the_short_line_carried_on_by_the_lag() -> None:
    """A first-order filter is its time constant behind an even course (textbook)."""
    task = Task(peak=1.0, target=0.9, period_s=0.1, lag_s=0.5)
    method = ShortLine(task, seconds=0.5, fewest=3, lag_share=1.0)
    assert announced_at(method, EVEN, task) == pytest.approx(1.0 - 0.2 * 0.5)


def test_one_reading_beyond_and_several() -> None:
    gone = [0.0, 0.5, 1.2, 0.6, 1.1, 1.3, 1.4, 1.5]
    assert announced_at(InARow(TASK, readings=1), gone) == 1.2
    assert announced_at(InARow(TASK, readings=3), gone) == 1.4


def test_the_mean_is_half_its_window_behind() -> None:
    assert announced_at(ShortMean(TASK, seconds=0.4, fewest=2), EVEN) == pytest.approx(1.04)


def test_the_median_overlooks_a_wild_reading() -> None:
    gone = [0.0, 0.1, 9.0, 0.2, 0.3, 1.1, 1.2, 1.3]
    assert announced_at(InARow(TASK, readings=1, smooth=3), gone) == 1.2


def test_the_ewma_is_behind_even_turning_by_the_textbook_lag() -> None:
    """(1 - weight) / weight readings behind, once the beginning is forgotten."""
    behind = 0.02 * (1.0 - 0.3) / 0.3
    assert announced_at(Ewma(TASK, weight=0.3), EVEN) == pytest.approx(1.0 + behind, abs=0.02)


def test_the_cusum_adds_up_what_is_beyond() -> None:
    gone = [0.5, 0.9, 1.1, 1.1, 1.1, 1.1]
    assert announced_at(Cusum(TASK, slack=0.0, alarm=0.15), gone) == 1.1
    assert announced_at(Cusum(TASK, slack=0.0, alarm=0.45), gone) is None


@pytest.mark.parametrize("index", [0.01, 0.1, 1.0, 10.0])
def test_the_gains_fit_their_tracking_index(index: float) -> None:
    """Kalata 1984: index^2 = beta^2 / (1 - alpha)."""
    alpha, beta = gains(index)
    assert 0.0 < alpha < 1.0
    assert beta**2 / (1.0 - alpha) == pytest.approx(index**2)


def test_alpha_beta_follows_even_turning_without_lag() -> None:
    assert announced_at(AlphaBeta(TASK, agility=10.0), EVEN) == pytest.approx(1.0, abs=0.02)


@pytest.mark.parametrize("name", KNOWN)
def test_every_method_announces_a_plain_fall_and_not_the_peak(name: str) -> None:
    method_for, noise = KNOWN[name].with_settings(tuned()[name]), Random(1)
    assert announced_at(method_for(TASK), [noise.gauss(0.0, 0.01) for _ in range(300)]) is None
    at = announced_at(method_for(TASK), EVEN)
    assert at is not None
    assert 0.7 < at < 1.5


@pytest.mark.parametrize("known", KNOWN.values(), ids=KNOWN)
def test_what_does_not_count_changes_nothing(known: Known) -> None:
    """Readings without a value, of the past, or repeated."""
    settings = known.usual or next(iter(known.settings()))
    plain, disturbed = known.with_settings(settings)(TASK), known.with_settings(settings)(TASK)
    for i, gone in enumerate(EVEN):
        shown = Shown(0.1 * i, 1.0 - 0.1 * gone)
        announced = plain.update(shown)
        assert disturbed.update(shown) == announced
        assert disturbed.update(shown._replace(value=0.2)) == announced
        assert disturbed.update(Shown(0.1 * i - 5.0, 0.2)) == announced
        assert disturbed.update(Shown(0.1 * i + 0.05, None, State.OVERLOAD)) == announced


def test_ours_announces_and_stays_so() -> None:
    method = Ours(TASK)
    announced = [method.update(Shown(0.1 * i, 1.0 - 0.1 * gone)) for i, gone in enumerate(EVEN)]
    first = announced.index(True)
    assert EVEN[first] == pytest.approx(1.0, abs=0.25)
    assert all(announced[first:])
