"""Parquet: typed columns, empty cells as nulls, times in UTC. Needs pyarrow, which is an extra."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import islice
from pathlib import Path

import pyarrow
from pyarrow import parquet

from meterlog.export.budget_cell import BUDGET_FIELDS
from meterlog.export.columnar import typed_columns
from meterlog.export.columns import key_of, kind_of
from meterlog.export.tables import Cell, Table

GROUP_ROWS = 50_000  # readings come by the million; a group is what is held in memory at a time
_TYPES = {
    str: pyarrow.string(),
    int: pyarrow.int64(),
    float: pyarrow.float64(),
    datetime: pyarrow.timestamp("us", "UTC"),
}
_TYPES[tuple] = pyarrow.list_(pyarrow.struct([(name, _TYPES[kind]) for name, kind in BUDGET_FIELDS.items()]))


def write_parquet(table: Table, path: Path, group_rows: int = GROUP_ROWS) -> None:
    """One table. OSError if the path cannot be written; ValueError for NaN or infinity."""
    schema = pyarrow.schema([(key_of(column), _TYPES[kind_of(column)]) for column in table.columns])
    with parquet.ParquetWriter(path, schema) as writer:
        for rows in _portions(iter(table.rows), group_rows):
            columns = typed_columns(rows, len(table.columns))
            writer.write_table(pyarrow.Table.from_arrays(_arrays(columns, schema), schema=schema))


def _arrays(columns: Sequence[Sequence[object]], schema: pyarrow.Schema) -> list[pyarrow.Array]:
    return [pyarrow.array(column, field.type) for column, field in zip(columns, schema, strict=True)]


def _portions(rows: Iterator[Sequence[Cell]], size: int) -> Iterator[list[Sequence[Cell]]]:
    while portion := list(islice(rows, size)):
        yield portion
