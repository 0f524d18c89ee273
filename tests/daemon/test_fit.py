"""Whether a bench offers what a procedure asks: by unit and coupling, named in the user's words."""

from pathlib import Path

import pytest

from meterlog.bench import FUNCTION_UNITS
from meterlog.daemon.errors import Refusal
from meterlog.daemon.fit import require_fit
from meterlog.procedure import Procedure
from meterlog.quantity import Unit
from tests.daemon.desk import BENCH, PROCEDURE, bench_in, procedure


def bench_text(function: str) -> str:
    """The bench of the desk, its channel "output" measuring something without a coupling."""
    return BENCH.replace('function = "voltage"\ncoupling = "ac"\nshow = "dBV"', f'function = "{function}"', 1)


def wanting(unit: str) -> Procedure:
    """The head and the warm-up of the desk's procedure, its channel in another unit."""
    text = PROCEDURE.replace('unit = "V"\ncoupling = "ac"\nshow = "dBu"', f'unit = "{unit}"')
    found: Procedure = procedure(text[: text.index('[[step]]\nid = "level"')])
    return found


def problems(folder: Path, function: str, unit: str) -> tuple[str, ...]:
    try:
        require_fit(bench_in(folder, bench_text(function)), wanting(unit))
    except Refusal as refusal:
        return refusal.problems
    return ()


def test_a_unit_whose_name_is_a_part_of_another_does_not_fit(tmp_path: Path) -> None:
    """H is henry and Hz hertz (SI brochure, table 4): one is not a kind of the other."""
    assert problems(tmp_path, "frequency", "H") == ("channel 'output': wanted H, the bench offers Hz",)


@pytest.mark.parametrize("unit", ["Hz", "H", "ohm", "F", "s", "W", "%"])
@pytest.mark.parametrize(
    "function", ["frequency", "inductance", "resistance", "capacitance", "period", "power"]
)
def test_only_the_same_unit_fits(function: str, unit: str, tmp_path: Path) -> None:
    offered = FUNCTION_UNITS[function]
    expected = (
        () if Unit(unit) is offered else (f"channel 'output': wanted {unit}, the bench offers {offered}",)
    )
    assert problems(tmp_path, function, unit) == expected
