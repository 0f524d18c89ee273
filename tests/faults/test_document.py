"""docs/faults.md names a test for every fault, and each of them exists."""

import ast
import re
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "docs" / "faults.md").read_text(encoding="utf-8")
ROWS = dict(re.findall(r"^\| ([AB]\d+) (.*)\|$", TEXT, re.MULTILINE))
NAMED = sorted(set(re.findall(r"(tests/[\w/]+\.py)::(\w+)", TEXT)))
FAULTS = [f"A{number}" for number in range(1, 16)] + [f"B{number}" for number in range(1, 17)]


@cache
def functions(file: str) -> frozenset[str]:
    tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))
    return frozenset(node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef))


def test_every_fault_has_its_row() -> None:
    assert sorted(ROWS) == sorted(FAULTS)


@pytest.mark.parametrize("fault", FAULTS)
def test_every_row_says_what_is_done_by_which_test_and_what_was_seen(fault: str) -> None:
    _, done, tests, seen = [cell.strip() for cell in ROWS[fault].split(" | ")]
    assert done
    assert "::test_" in tests
    assert seen


@pytest.mark.parametrize(("file", "name"), NAMED, ids=[name for _, name in NAMED])
def test_each_test_that_is_named_exists(file: str, name: str) -> None:
    assert name in functions(file)
