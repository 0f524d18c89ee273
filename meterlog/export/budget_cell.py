"""The budget of a settled value in one cell: as text for spreadsheets, as objects for programs."""

import math
from collections.abc import Iterable

from meterlog.accuracy.budget import Line

BUDGET_FIELDS: dict[str, type] = {
    "source": str,
    "distribution": str,
    "standard_uncertainty": float,
    "degrees_of_freedom": float,
    "sensitivity": float,
    "contribution": float,
}
"""standard_uncertainty is in the unit of the source, contribution in that of the value."""

BudgetObject = dict[str, str | float | None]


def finite(number: float) -> float | None:
    """Infinite degrees of freedom are an empty cell: neither JSON nor a spreadsheet has infinity."""
    return number if math.isfinite(number) else None


def budget_text(lines: Iterable[Line]) -> str:
    """Each source with its distribution and contribution: "gain of meter (rectangular) 0.0012; ..."."""
    return "; ".join(f"{line.source.name} ({line.source.shape}) {line.contribution!r}" for line in lines)


def budget_objects(lines: Iterable[Line]) -> list[BudgetObject]:
    return [_object(line) for line in lines]


def _object(line: Line) -> BudgetObject:
    source = line.source
    return {
        "source": source.name,
        "distribution": str(source.shape),
        "standard_uncertainty": source.standard_uncertainty,
        "degrees_of_freedom": finite(source.degrees_of_freedom),
        "sensitivity": line.sensitivity,
        "contribution": line.contribution,
    }
