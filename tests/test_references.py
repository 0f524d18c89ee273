"""docs/references.md is what the tests hold, made anew; the sources are in it."""

from pathlib import Path

import pytest

from tests.reference.__main__ import page


@pytest.mark.slow
def test_the_table_of_published_figures_is_current() -> None:
    """If not: `python -m tests.reference > docs/references.md`."""
    assert Path("docs/references.md").read_text(encoding="utf-8") == page()
