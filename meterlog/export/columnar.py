"""Rows turned into typed columns, for what keeps columns: Parquet files and data frames."""

import math
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime

from meterlog.export.budget_cell import BudgetObject, budget_objects
from meterlog.export.tables import Cell

Typed = str | int | float | datetime | list[BudgetObject] | None


def typed_columns(rows: Iterable[Sequence[Cell]], count: int) -> list[list[Typed]]:
    """`count` columns, of no cells if there are no rows. Times are in UTC. ValueError: NaN or infinity."""
    columns: list[list[Typed]] = [[] for _ in range(count)]
    for row in rows:
        for column, cell in zip(columns, row, strict=True):
            column.append(_typed(cell))
    return columns


def _typed(cell: Cell) -> Typed:
    match cell:
        case str():
            return str(cell)  # an enum's text, without the enum
        case float() if not math.isfinite(cell):
            # The record holds none, so one here is a fault to be seen.
            raise ValueError(f"{cell} is no value")
        case datetime():
            return cell.astimezone(UTC)
        case tuple():
            return budget_objects(cell)
        case _:
            return cell
