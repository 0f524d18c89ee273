"""Accuracy statements: examples that makers' documents print, from tests/reference/dmm."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from meterlog.accuracy.band import Band
from meterlog.accuracy.limits import Accuracy, Conditions, Limit, Statement

FILE = Path(__file__).parents[1] / "reference" / "dmm" / "spec_arithmetic.toml"
PRINTED = tomllib.loads(FILE.read_text(encoding="utf-8"))
EXAMPLES = {example["name"].partition(",")[0]: example for example in PRINTED["example"]}


def accuracy(example: dict[str, Any]) -> Accuracy:
    return Accuracy(
        reading=example.get("percent_of_reading", 0.0) / 100.0,
        of_range=example.get("percent_of_range", 0.0) / 100.0,
        counts=example.get("counts", 0.0),
        reading_per_kelvin=example.get("percent_of_reading_per_k", 0.0) / 100.0,
        of_range_per_kelvin=example.get("percent_of_range_per_k", 0.0) / 100.0,
    )


def limit(example: dict[str, Any], reading: float | None = None) -> Limit:
    return accuracy(example).limit(
        example["reading"] if reading is None else reading,
        example.get("range", 0.0),
        example.get("resolution", 0.0),
        example.get("temperature_c"),
    )


def test_reading_plus_range() -> None:
    example = EXAMPLES["reading plus range"]
    printed, found = example["printed"], limit(example)
    assert found.gain == pytest.approx(printed["reading_part_v"], rel=1e-9)
    assert found.offset == pytest.approx(printed["range_part_v"], rel=1e-9)
    assert found.total == pytest.approx(printed["limit_v"], rel=1e-9)
    assert found.total / example["reading"] * 1e6 == pytest.approx(printed["ppm_of_input"], rel=1e-9)


def test_the_share_of_the_reading_shrinks_with_it() -> None:
    example = EXAMPLES["reading part alone"]
    found = [limit(example, value).total for value in example["inputs_v"]]
    assert found == pytest.approx(example["printed"]["reading_part_v"], rel=1e-9)


def test_the_share_of_the_range_does_not() -> None:
    example = EXAMPLES["range part alone"]
    found = [limit(example, value).total for value in example["inputs_v"]]
    assert found == pytest.approx(example["printed"]["range_part_v"], rel=1e-9)


def test_outside_the_temperatures_each_kelvin_adds() -> None:
    example = EXAMPLES["outside the temperature window"]
    found = limit(example)
    assert found.total == pytest.approx(example["printed"]["limit_v"], rel=1e-9)
    assert example["reading"] + found.total == pytest.approx(example["printed"]["high_v"], abs=5e-7)


def test_below_the_temperatures_as_above_them() -> None:
    example = EXAMPLES["outside the temperature window"]
    assert limit(example | {"temperature_c": 16.0}) == pytest.approx(limit(example))


def test_percent_and_counts() -> None:
    example = EXAMPLES["percent plus counts"]
    found = limit(example)
    assert found.total == pytest.approx(example["printed"]["limit_v"], rel=1e-9)


@pytest.mark.parametrize(
    ("statement", "divisor"),
    [
        (Statement.BOUNDS, "rectangular"),
        (Statement.NORMAL_95, "normal_95"),
        (Statement.NORMAL_99, "normal_99"),
    ],
)
def test_from_a_limit_to_a_standard_uncertainty(statement: Statement, divisor: str) -> None:
    exact = PRINTED["conversion_to_standard_uncertainty"]["divisors_exact"][divisor]
    assert Accuracy(statement=statement).standard(1.0) == pytest.approx(1.0 / exact, rel=1e-6)


def test_the_example_of_5_volts_as_a_standard_uncertainty() -> None:
    printed = PRINTED["conversion_to_standard_uncertainty"]["example_5_v"]
    assert Accuracy().standard(printed["limit_v"]) == pytest.approx(printed["u_rectangular_v"], rel=1e-5)
    by_95 = Accuracy(statement=Statement.NORMAL_95).standard(printed["limit_v"])
    assert by_95 == pytest.approx(printed["u_95_v"], rel=1e-5)


def test_which_row_of_a_table_holds() -> None:
    """Invented rows."""
    row = Accuracy(ranges=(0.6, 6.0), band=Band(45.0, 1000.0), days=90.0)
    assert row.holds(6.0, Conditions(frequency_hz=1000.0, days_since_calibration=90.0))
    assert row.holds(0.6, Conditions())
    assert not row.holds(60.0, Conditions())
    assert not row.holds(6.0, Conditions(frequency_hz=1001.0))
    assert not row.holds(6.0, Conditions(days_since_calibration=91.0))
