"""Published figures from tests/reference, with as many digits as their sources print."""

import csv
import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

REFERENCE = Path(__file__).parents[2] / "reference"


def table(name: str) -> dict[str, Any]:
    """Numbers with a point come as Decimal, which keeps how many digits there are."""
    return tomllib.loads((REFERENCE / name).read_text(encoding="utf-8"), parse_float=Decimal)


def rows(name: str) -> list[dict[str, str]]:
    lines = (REFERENCE / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def column(name: str, key: str) -> list[float]:
    return [float(row[key]) for row in rows(name)]


def as_printed(printed: Decimal | int | str, units: float = 0.5) -> Any:
    """Equal to what rounds to `printed`: within half a unit of its last place, or within `units` of them."""
    figure = Decimal(printed)
    exponent = figure.as_tuple().exponent
    assert isinstance(exponent, int)
    return pytest.approx(float(figure), rel=0.0, abs=units * 10.0**exponent * (1 + 1e-9))
