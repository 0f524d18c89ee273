"""Every example of docs/procedures.md is a procedure that loads, one page after the other."""

import re
from pathlib import Path

from meterlog.procedure import load_procedure_text

PAGE = Path(__file__).parents[2] / "docs" / "procedures.md"


def examples() -> str:
    """All TOML blocks of the page make one file."""
    return "\n".join(re.findall(r"```toml\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL))


def test_the_examples_of_the_manual_load_as_one_procedure() -> None:
    procedure = load_procedure_text(examples(), "procedures.md")
    assert [step.id for step in procedure.steps][:4] == ["tone", "corner", "gain-left", "gain-right"]
    assert procedure.guards
