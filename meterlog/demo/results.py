"""The table of results at the end, from the exported file: what a user gets is what is shown."""

import json
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.table import Table

_MARK = {"pass": "[green]pass[/]", "fail": "[red]fail[/]", "not judged": "-"}
_COLUMNS = ("step", "condition", "pass", "role", "shown_value", "shown_unit", "verdict")


def print_results(console: Console, export: Path) -> bool:
    """Print every settled value; True if the unit passed."""
    rows = [json.loads(line) for line in export.read_text(encoding="utf-8").splitlines()]
    table = Table("Step", "Pass", "", "Value", "", title="Settled values")
    for row in rows:
        if row["type"] == "settled":
            table.add_row(*_cells(row))
    console.print(table)
    verdicts = [row["verdict"] for row in rows if row["type"] == "session"]
    console.print(f"Unit as left: [bold]{_MARK.get(verdicts[0] if verdicts else '', 'not judged')}[/]")
    return verdicts == ["pass"]


def _cells(row: dict[str, Any]) -> list[str]:
    name = f"{row['title']} ({row['condition']})" if row["condition"] else str(row["title"])
    value = f"{row['shown_value']:.3f} {row['shown_unit']}"
    return [name, row["pass"], row["role"], value, _MARK[row["verdict"]]]
