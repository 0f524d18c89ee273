"""Every example of docs/procedures.md loads: each section's, after those of the first sections."""

import re
from pathlib import Path

import pytest

from meterlog.procedure import load_procedure_text

PAGE = Path(__file__).parents[2] / "docs" / "procedures.md"
SECTIONS = re.split(r"^## ", PAGE.read_text(encoding="utf-8"), flags=re.MULTILINE)[1:]
BASIS = 3
"""Sections that the others build on: head and channels, targets about a step, loops."""


def examples(sections: list[str]) -> str:
    """Their TOML blocks as one file."""
    return "\n".join(re.findall(r"```toml\n(.*?)```", "\n".join(sections), re.DOTALL))


def test_the_first_examples_are_a_procedure() -> None:
    steps = load_procedure_text(examples(SECTIONS[:BASIS]), "procedures.md").steps
    assert [step.id for step in steps] == ["tone", "corner", "gain-left", "gain-right"]


@pytest.mark.parametrize("section", SECTIONS[BASIS:], ids=lambda text: text.splitlines()[0])
def test_the_examples_of_a_section_load(section: str) -> None:
    text = examples([*SECTIONS[:BASIS], section])
    assert load_procedure_text(text, "procedures.md").steps
