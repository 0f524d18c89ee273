"""The README keeps its word: every command, pattern and driver is in it, and its examples are sound."""

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
import typer.main

from meterlog.bench import installed_drivers, load_bench_text
from meterlog.cli.main import app
from meterlog.procedure import load_procedure_text
from meterlog.procedure.model import PATTERNS
from meterlog.report.batch_file import Batch

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```toml\n(.*?)```", README, re.DOTALL)


def commands() -> Iterator[tuple[str, str]]:
    """(command line, help) of every command."""
    for name, command in typer.main.get_command(app).commands.items():  # type: ignore[attr-defined]
        inner = getattr(command, "commands", None)
        if inner is None:
            yield f"meterlog {name}", command.help or ""
        else:
            for sub, subcommand in inner.items():
                yield f"meterlog {name} {sub}", subcommand.help or ""


@pytest.mark.parametrize(("line", "help_text"), list(commands()), ids=lambda value: value[:30])
def test_every_command_is_described_and_has_help(line: str, help_text: str) -> None:
    assert line in README
    assert help_text.strip()


@pytest.mark.parametrize("pattern", PATTERNS)
def test_every_pattern_is_in_the_table(pattern: str) -> None:
    assert f"| `{pattern}` |" in README


def test_every_driver_of_ours_is_in_the_table() -> None:
    ours = [name for name, entry in installed_drivers().items() if entry.value.startswith("meterlog_drivers")]
    assert ours
    for name in ours:
        assert f"| `{name}` |" in README


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda text: text.splitlines()[0])
def test_every_example_is_sound(example: str) -> None:
    if "batch" in tomllib.loads(example):
        assert Batch.model_validate(tomllib.loads(example)["batch"]).serials
    elif "procedure" in tomllib.loads(example):
        assert load_procedure_text(example, "README.md").steps
    else:
        assert load_bench_text(example, "README.md").channels


@pytest.mark.parametrize(
    "path", sorted((ROOT / "config" / "bench").glob("*.toml")), ids=lambda path: path.name
)
def test_shipped_bench_files_are_sound(path: Path) -> None:
    assert load_bench_text(path.read_text(encoding="utf-8"), str(path)).meters


def test_make_targets_of_the_readme_are_there() -> None:
    targets = re.findall(r"^([a-z]+):", (ROOT / "Makefile").read_text(encoding="utf-8"), re.MULTILINE)
    assert set(re.findall(r"make ([a-z]+)", README)) <= set(targets)


def test_messages_of_the_last_table_are_the_program_s_own() -> None:
    """What a person searches the README for is what the program printed."""
    told = re.findall(
        r"^\| `(?:… )?([^`…]+?)(?: …)?` \| ", README.split("## When something is wrong")[1], re.MULTILINE
    )
    sources = [*(ROOT / "meterlog").rglob("*.py"), *(ROOT / "drivers").rglob("*.py")]
    said = "\n".join(path.read_text(encoding="utf-8") for path in sources)
    assert len(told) >= 6
    assert [text for text in told if text not in said] == []
