"""Reads the vector files beside this module; their sources stand in their first lines."""

import csv
import tomllib
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent / "vectors"


def rows(name: str) -> list[dict[str, str]]:
    lines = (FOLDER / name).read_text(encoding="utf-8").splitlines(keepends=True)
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def dialogue(identity: str) -> dict[str, Any]:
    dialogues = tomllib.loads((FOLDER / "scpi_dialogues.toml").read_text(encoding="utf-8"))["dialogue"]
    return next(d for d in dialogues if d["id"] == identity)
