"""The table of results at the end, from the exported file: what a user gets is what is shown."""

import json
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.table import Table

_MARK = {
    "pass": "[green]pass[/]",
    "conditional pass": "[green]conditional pass[/]",
    "conditional fail": "[red]CONDITIONAL FAIL[/]",
    "fail": "[red]FAIL[/]",
    "not judged": "",
}
_NAMES = {"peak": "the extremum", "lit": "comes on", "unlit": "goes off"}
Row = dict[str, Any]


def print_results(console: Console, export: Path, verdict: str) -> None:
    """As found beside as left, one line for each thing that was measured."""
    table = Table("Step", "As found", "", "As left", "", title="Results")
    for label, (found, left) in _lines(_settled(export)).items():
        table.add_row(label, *_cells(found), *_cells(left))
    console.print(table)
    console.print(f"The unit as left: [bold]{_MARK.get(verdict) or verdict}[/]")


def _settled(export: Path) -> list[Row]:
    rows: list[Row] = [json.loads(line) for line in export.read_text(encoding="utf-8").splitlines()]
    return [row for row in rows if row["type"] == "settled value" and row["counts"] == "yes"]


def _lines(rows: list[Row]) -> dict[str, list[Row | None]]:
    """Label to [as found, as left]; the last value of a step counts, whatever pass it came from."""
    lines: dict[str, list[Row | None]] = {}
    for row in rows:
        pair = lines.setdefault(_label(row), [None, None])
        pair[0 if row["pass"] == "as found" else 1] = row
    return lines


def _label(row: Row) -> str:
    detail = row["condition"] or _NAMES.get(row["role"], "")
    return f"{row['title']}: {detail}" if detail else str(row["title"])


def _cells(row: Row | None) -> tuple[str, str]:
    if row is None:
        return "", ""
    value = f"{row['shown_value']:.3f} {row['shown_unit']}"
    return f"{value} ± {row['shown_uncertainty_up']:.3f} {row['uncertainty_unit']}", _MARK[row["verdict"]]
