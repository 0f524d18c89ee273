"""Files that are broken on purpose: the command says of each what its comments say, and nothing else.

`# said:` on a line is what stands after file and line in the output; "…" ends what is compared. The table of
docs/procedures.md is made of the same comments: python -m tests.procedure.test_broken prints it.
"""

import json
import re
from pathlib import Path

import pytest

from tests.daemon.process import meterlog

ROOT = Path(__file__).parents[2]
FOLDER = Path(__file__).parent / "broken"
BENCH = Path(__file__).parent / "bench_of_the_broken.toml"
FILES = sorted(FOLDER.glob("*.toml"))
DOCUMENT = ROOT / "docs" / "procedures.md"
CHAPTER = "## What the checker says\n"

Said = list[tuple[int, str]]


def expected(path: Path) -> Said:
    """(line, what is said there) by the comments of the file."""
    lines = enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
    return [(number, line.split("# said: ")[1]) for number, line in lines if "# said: " in line]


@pytest.fixture(scope="module")
def said() -> dict[Path, Said]:
    """By the real command, on all files at once; it must not stumble over the first one."""
    result = meterlog("procedure", "check", "--bench", BENCH, *FILES)
    assert result.returncode == 2
    found: dict[Path, Said] = {path: [] for path in FILES}
    for line in result.stderr.splitlines():
        told = re.fullmatch(r"meterlog: (.+?\.toml):(\d+): (.*)", line)
        assert told, line
        found[Path(told[1])].append((int(told[2]), told[3]))
    return found


def cut_like(message: str, wanted: str) -> str:
    return message[: len(wanted) - 1] + "…" if wanted.endswith("…") else message


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_what_is_said_is_what_the_comments_say(path: Path, said: dict[Path, Said]) -> None:
    wanted = expected(path)
    assert wanted, "a broken file says what is wrong with it"
    found = said[path]
    assert len(found) == len(wanted), found
    assert [
        (line, cut_like(message, want)) for (line, message), (_, want) in zip(found, wanted, strict=True)
    ] == (wanted)


def test_there_are_enough_of_them() -> None:
    assert len(FILES) >= 20


@pytest.mark.parametrize(("name", "code"), [("no-caution", 2), ("idle-channel", 0)])
def test_a_warning_alone_does_not_fail_the_command(name: str, code: int) -> None:
    assert meterlog("procedure", "check", FOLDER / f"{name}.toml").returncode == code


def test_for_programs_there_is_json() -> None:
    broken, sound = FOLDER / "beyond-the-band.toml", ROOT / "config" / "procedures" / "tape-machine.toml"
    result = meterlog("procedure", "check", "--json", "--bench", BENCH, broken)
    found = json.loads(result.stdout)
    assert result.returncode == 2
    assert [set(one) for one in found] == [{"file", "line", "field", "severity", "message"}] * 2
    assert [(one["line"], one["field"], one["severity"]) for one in found] == [
        (17, "step.1.frequency", "error"),
        (21, "step.2", "warning"),
    ]
    assert {one["file"] for one in found} == {str(broken)}
    assert json.loads(meterlog("procedure", "check", "--json", sound).stdout) == []


def test_a_bench_that_cannot_be_used_is_said_before_all() -> None:
    result = meterlog("procedure", "check", "--bench", "absent.toml", FILES[0])
    assert result.returncode == 2
    assert "absent.toml:1: cannot be read" in result.stderr


def table() -> str:
    """What the document says: one row for each file, in the order of their names."""
    rows = ["| when there is | it says |", "|---|---|"]
    for path in FILES:
        (what,) = re.findall(r"\A# Broken: (.*)\.\n", path.read_text(encoding="utf-8"))
        rows.append(f"| {what} | {'<br>'.join(message for _, message in expected(path))} |")
    return "\n".join(rows)


def test_the_document_has_them_all() -> None:
    chapter = DOCUMENT.read_text(encoding="utf-8").split(CHAPTER)[1].split("\n## ")[0]
    assert table() in chapter, "print it anew: python -m tests.procedure.test_broken"


if __name__ == "__main__":
    print(table())
