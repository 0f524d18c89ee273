"""Levels of scatter and tests for equal spread, against the NIST/SEMATECH e-Handbook (tests/reference)."""

import random
from itertools import groupby
from statistics import fmean

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.accuracy.drift import Component, Day, Spread, bartlett, levels, levene, pooled
from tests.accuracy.drift.published import as_printed, column, rows, table

WAFER = rows("nist_handbook/resistivity_check_standard.csv")
PRINTED = table("nist_handbook/resistivity_check_standard.toml")["printed"]
JOSEPHSON = column("nist_handbook/josephson_soulen.csv", "y")
HEAT_FLOW = column("nist_handbook/heat_flow_zarr13.csv", "y")


def wafer_runs() -> list[list[Day]]:
    return [
        [Day(float(row["average_ohm_cm"]), float(row["sd_ohm_cm"]), int(row["df"]) + 1) for row in run]
        for _, run in groupby(WAFER, key=lambda row: row["run"])
    ]


def test_resistivity() -> None:
    """2.4.4.1 to 2.4.4.3: six days in each of two runs, six readings a day."""
    found = levels(wafer_runs())
    assert found.readings == (as_printed(PRINTED["level1_pooled_sd"]), PRINTED["level1_df"])
    squares = found.readings.sd**2 * found.readings.degrees_of_freedom
    assert squares == as_printed(PRINTED["level1_sum_of_squares"])
    assert found.days == (as_printed(PRINTED["level2_pooled_sd"]), PRINTED["level2_df"])
    assert found.between_days.estimate == as_printed(PRINTED["between_day_variance"])
    assert found.runs == (as_printed(PRINTED["level3_sd"]), PRINTED["level3_df"])


@pytest.mark.parametrize("run", [0, 1])
def test_resistivity_of_each_run(run: int) -> None:
    """2.4.4.2."""
    found = levels([wafer_runs()[run]])
    assert found.days == (as_printed(PRINTED[f"run{run + 1}_sd_of_day_averages"]), 5)
    assert found.runs is found.between_runs is None


def test_a_negative_component_is_cut_and_says_so() -> None:
    """2.4.4.2: between days -0.00028, take zero. Between runs 0.02885^2 - 0.02742^2 / 6 stays."""
    found = levels(wafer_runs())
    assert (found.between_days.cut, found.between_days.sd) == (True, 0.0)
    assert found.between_runs is not None
    assert found.between_runs.estimate == pytest.approx(0.02885**2 - 0.02742157**2 / 6, rel=1e-3)
    assert not found.between_runs.cut
    assert found.single_reading_sd == pytest.approx(
        (0.0787**2 + found.between_runs.estimate) ** 0.5, rel=1e-3
    )


def test_components_are_found_again() -> None:
    """Made up: scatter 3 of readings, 2 of days and 5 of runs, 400 runs of 5 days of 4 readings, seed 1."""
    chance = random.Random(1)

    def a_day(run: float) -> Day:
        day = run + chance.gauss(0, 2)
        values = [day + chance.gauss(0, 3) for _ in range(4)]
        mean = fmean(values)
        return Day(mean, (sum((value - mean) ** 2 for value in values) / 3) ** 0.5, 4)

    found = levels([[a_day(run) for _ in range(5)] for run in (chance.gauss(0, 5) for _ in range(400))])
    assert found.between_runs is not None
    assert found.readings.sd == pytest.approx(3.0, rel=0.03)
    assert found.between_days.sd == pytest.approx(2.0, rel=0.06)
    assert found.between_runs.sd == pytest.approx(5.0, rel=0.10)


def test_pooled() -> None:
    """By hand: (3 * 2^2 + 1 * 4^2) / 4 = 7."""
    assert pooled([Spread(2.0, 3), Spread(4.0, 1)]) == (pytest.approx(7**0.5), 4)
    with pytest.raises(ValueError, match="nothing to pool"):
        pooled([])


@pytest.mark.parametrize(
    "runs",
    [
        [],
        [[Day(1.0, 0.1, 3)]],
        [[Day(1.0, 0.1, 3), Day(1.0, 0.1, 4)]],
        [[Day(1.0, 0.1, 1), Day(1.0, 0.1, 1)]],
        [[Day(1.0, 0.1, 3)] * 2, [Day(1.0, 0.1, 3)] * 3],
    ],
)
def test_levels_need_equal_numbers(runs: list[list[Day]]) -> None:
    with pytest.raises(ValueError, match="equal numbers"):
        levels(runs)


def test_bartlett_on_heat_flow() -> None:
    """1.4.2.8: parts of 48, 49, 49 and 49."""
    printed = table("nist_handbook/heat_flow_zarr13.toml")["printed"]["bartlett_parts_48_49_49_49"]
    found = bartlett([HEAT_FLOW[:48], HEAT_FLOW[48:97], HEAT_FLOW[97:146], HEAT_FLOW[146:]])
    assert found.statistic == as_printed(printed["k_squared"])
    assert found.degrees_of_freedom == (printed["df"],)
    assert found.p_value == as_printed(printed["p_value"])
    assert found.critical == as_printed(printed["critical_95"])
    assert found.alike


def test_levene_on_josephson() -> None:
    """1.4.2.4: quarters of 175, about their medians."""
    printed = table("nist_handbook/josephson_soulen.toml")["printed"]["levene_four_quarters"]
    found = levene([JOSEPHSON[start : start + 175] for start in range(0, 700, 175)])
    assert found.statistic == as_printed(printed["f"])
    assert list(found.degrees_of_freedom) == printed["df"]
    assert found.critical == as_printed(printed["critical_f_95"])
    assert found.alike
    assert found.p_value > 0.05


@pytest.mark.parametrize("test", [bartlett, levene])
def test_a_part_that_scatters_ten_times_as_much(test: object) -> None:
    """Made up: the last quarter of the heat flow data blown up."""
    assert callable(test)
    mean = fmean(HEAT_FLOW)
    wild = [mean + 10 * (value - mean) for value in HEAT_FLOW[146:]]
    found = test([HEAT_FLOW[:48], HEAT_FLOW[48:97], wild])
    assert not found.alike
    assert found.p_value < 1e-6


def test_groups_without_scatter() -> None:
    with pytest.raises(ValueError, match="no scatter"):
        bartlett([[1.0, 1.0], [1.0, 2.0]])
    with pytest.raises(ValueError, match="no group"):
        levene([[1.0, 1.0], [2.0, 2.0]])
    for test in (bartlett, levene):
        with pytest.raises(ValueError, match="two groups"):
            test([[1.0, 2.0, 3.0]])
        with pytest.raises(ValueError, match="two groups"):
            test([[1.0, 2.0], [1.0]])


def test_a_component_of_nothing_is_not_cut() -> None:
    assert (Component(0.0).cut, Component(0.0).sd) == (False, 0.0)


groups = st.lists(
    st.lists(st.integers(-100, 100).map(float), min_size=3, max_size=9, unique=True), min_size=2, max_size=5
)


@given(groups, st.sampled_from([0.01, 20.0, -3.0]))
def test_unit_and_place_of_a_group_do_not_matter(data: list[list[float]], factor: float) -> None:
    """Each group is moved somewhere else: spread is asked about, not level."""
    moved = [[100.0 * place + factor * value for value in group] for place, group in enumerate(data)]
    for test in (bartlett, levene):
        try:
            plain = test(data)
        except ValueError:
            continue
        assert test(moved).statistic == pytest.approx(plain.statistic, rel=1e-6, abs=1e-6)
