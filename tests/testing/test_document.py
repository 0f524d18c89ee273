"""docs/drivers.md: its example is the one that is installed and run, its claims have their evidence."""

import ast
import re
from functools import cache
from pathlib import Path

import pytest

from meterlog.bench import load_driver
from meterlog.reading import Maturity
from meterlog.testing import CHECKS
from tests.drivers.ours import OURS

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "tests" / "outside" / "example"
TEXT = (ROOT / "docs" / "drivers.md").read_text(encoding="utf-8")
CLAIMS = dict(re.findall(r"^\| `([\w-]+)` \| ([A-Z]+ \| .*) \|$", TEXT, re.MULTILINE))
ON_PORTS = ("tests/wire/", "tests/testing/test_on_ports.py", "tests/drivers/declared/test_on_a_port.py")
"""Where drivers are read over real ports."""


@pytest.mark.parametrize(
    "file", ["example_meter.py", "pyproject.toml", "tests/specimen.py", "tests/test_conforms.py"]
)
def test_the_example_is_printed_as_it_is_installed(file: str) -> None:
    assert f"```{file.rpartition('.')[2].replace('py', 'python')}\n{(EXAMPLE / file).read_text()}```" in TEXT


def test_every_check_is_in_the_table() -> None:
    for words, check in CHECKS.items():
        assert f"| {words} |" in TEXT
        assert check.__doc__


@pytest.mark.parametrize("name", OURS)
def test_what_a_driver_claims_has_its_evidence(name: str) -> None:
    assert name in CLAIMS, f"docs/drivers.md does not say how {name!r} is proven: add its row"
    claim, _, evidence = CLAIMS[name].partition(" | ")
    maturity = load_driver(name).maturity
    assert maturity is Maturity[claim]
    tests = re.findall(r"([\w/]+\.py)::(\w+)", evidence)
    assert ("tests/testing/test_conformance.py", "test_conformance") in tests
    assert all(function in functions(file) for file, function in tests), evidence
    if maturity is not Maturity.VECTORS:
        assert any(file.startswith(ON_PORTS) for file, _ in tests), "over no real port"
    assert maturity is not Maturity.HARDWARE, "which instrument, when, which functions: nothing says so"


@cache
def functions(file: str) -> frozenset[str]:
    tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))
    return frozenset(node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef))
