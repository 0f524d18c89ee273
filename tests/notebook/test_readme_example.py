"""The README's example is run, on a record as `make demo` leaves one: in the folder it names."""

import re
from pathlib import Path
from typing import Any

import pytest

from meterlog.records import DataFolder
from tests.report.recorded import Recorded

README = Path(__file__).parents[2].joinpath("README.md").read_text(encoding="utf-8")


def test_the_example_of_the_readme(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (example,) = re.findall(r"```python\n(.*?)```", README, re.DOTALL)
    monkeypatch.chdir(tmp_path)
    engine = DataFolder(Path("demo-data/run-1")).open()
    with Recorded(engine) as session:
        session.settle_at(15.0)
    engine.dispose()
    made: dict[str, Any] = {}
    exec(compile(example, "README.md", "exec"), made)
    assert (made["number"], made["values"]["channel"].to_list()) == (1, ["rail"])
    assert made["readings"].height >= made["values"]["readings"][0] > 0
    assert capsys.readouterr().out.count("shape: ") == example.count("print(")
