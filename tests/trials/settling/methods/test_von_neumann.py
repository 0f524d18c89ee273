"""Von Neumann's ratio against tables: tests/reference/steady_state/von_neumann.toml.

Exact critical values computed apart from this code by Imhof's integral; Hart, Annals of Mathematical
Statistics 13 (1942) 445; the example of ranks from Bartels' test (1982) as printed with a public R package.
"""

import csv
import math
import random
from functools import cache

import pytest

from tests.detect.signals import table
from tests.trials.settling.methods.von_neumann import TABLE, CriticalRatio, ratio_variance, von_neumann_ratio

ROWS = list(csv.DictReader(TABLE.read_text().splitlines()))
LEVELS = {0.05: "5_percent", 0.01: "1_percent", 0.001: "0_1_percent"}


@cache
def simulated(n: int, sets: int = 40_000) -> list[float]:
    noise = random.Random(f"sets of {n}")
    return [von_neumann_ratio([noise.gauss() for _ in range(n)]) for _ in range(sets)]


@pytest.mark.parametrize("n", [8, 10])
@pytest.mark.parametrize("level", LEVELS)
def test_so_many_simulated_sets_fall_below_the_critical_value(n: int, level: float) -> None:
    """Within four standard errors of the share."""
    ratios = simulated(n)
    critical = CriticalRatio(level).at(n)
    below = sum(ratio < critical for ratio in ratios) / len(ratios)
    assert below == pytest.approx(level, abs=4.0 * math.sqrt(level / len(ratios)))


@pytest.mark.parametrize("n", [8, 10])
def test_mean_and_variance_of_simulated_sets(n: int) -> None:
    ratios = simulated(n)
    mean = sum(ratios) / len(ratios)
    variance = sum((ratio - mean) ** 2 for ratio in ratios) / len(ratios)
    assert mean == pytest.approx(2.0, abs=4.0 * math.sqrt(variance / len(ratios)))
    assert variance == pytest.approx(ratio_variance(n), rel=0.03)


@pytest.mark.parametrize("level", LEVELS)
def test_the_exact_values_are_looked_up(level: float) -> None:
    critical = CriticalRatio(level)
    for row in ROWS:
        assert critical.at(int(row["n"])) == float(row[f"exact_{LEVELS[level]}"])


@pytest.mark.parametrize(("level", "within"), [(0.05, 0.001), (0.01, 0.002), (0.001, 0.0028)])
def test_harts_table_is_as_good_as_told(level: float, within: float) -> None:
    critical = CriticalRatio(level)
    for row in ROWS:
        if hart := row[f"hart_{LEVELS[level]}"]:
            assert critical.at(int(row["n"])) == pytest.approx(float(hart), abs=within), row["n"]


def test_the_variance_column() -> None:
    for row in ROWS:
        assert ratio_variance(int(row["n"])) == pytest.approx(float(row["variance_of_ratio"]), abs=5e-10)


@pytest.mark.parametrize("level", LEVELS)
def test_between_and_beyond_the_rows_it_grows_with_the_number_of_readings(level: float) -> None:
    values = [CriticalRatio(level).at(n) for n in range(7, 100)]
    assert values == sorted(values)
    assert CriticalRatio(level).at(101) == pytest.approx(values[-1], abs=0.02)
    assert CriticalRatio(0.5).at(50) == 2.0


def test_the_rank_example() -> None:
    """Variance of the ratio of ranks: R. Bartels, J. of the American Statistical Association 77 (1982) 40."""
    example = table("steady_state/von_neumann.toml")["rank_version_tourists"]
    ordered = sorted(example["x"])
    ratio = von_neumann_ratio([float(ordered.index(x) + 1) for x in example["x"]])
    n = len(ordered)
    variance = 4.0 * (n - 2) * (5 * n * n - 2 * n - 9) / (5.0 * n * (n + 1) * (n - 1) ** 2)
    assert ratio == pytest.approx(example["recomputed"]["ratio"], abs=5e-10)
    assert (ratio - 2.0) / math.sqrt(variance) == pytest.approx(example["printed_z"], abs=5e-5)
