"""What is said of a file is said in words for who wrote it: what, where, and what would be right."""

from pathlib import Path

import pytest

from meterlog.bench import BenchError, load_bench_text
from meterlog.procedure import ProcedureError, load_procedure, load_procedure_text
from tests.procedure.bench import HEAD
from tests.procedure.test_load import line_of, problems
from tests.procedure.test_loops import LOOPED
from tests.procedure.test_patterns import ADJUST, EXTREMUM
from tests.procedure.test_safety import GATE


@pytest.mark.parametrize(
    ("steps", "at", "field", "says"),
    [
        (ADJUST + "text = 5\n", "text = 5", "step.1.text", "write a text in quotes, not 5"),
        (ADJUST + 'setup = "x"\n[steps]\n', "[steps]", "steps", "no such field"),
        (ADJUST.replace("[[step]]", "[[steps]]"), "[[steps]]", "steps", "no such field"),
        (ADJUST.replace("[[step]]", "[step]"), "[step]", "step", "write [[step]] with two brackets"),
        (ADJUST.replace('"Level"', '""'), 'title = ""', "step.1.title", "is empty; write a text"),
        (ADJUST.replace('"Level"', f'"{"x" * 81}"'), 'title = "xx', "step.1.title", "at most 80 characters"),
        (ADJUST + 'only_if_needed = "perhaps"\n', "only_if", "step.1.only_if_needed", "write true or false"),
        (
            ADJUST.replace('pattern = "adjust"\n', ""),
            "[[step]]",
            "step.1.pattern",
            "missing; it is one of pre",
        ),
        (
            EXTREMUM.replace('"maximum"', '"biggest"'),
            "extremum = ",
            "step.1.extremum",
            "must be one of 'maximum', 'minimum', not 'biggest'",
        ),
        (
            GATE.replace('["Speakers are off.", "One hand stays away."]', "[]"),
            "confirm = ",
            "step.1.confirm",
            "give at least one",
        ),
        (
            GATE.replace('["Speakers', '"Speakers').replace('away."]', 'away."').replace('", "', " "),
            "confirm = ",
            "step.1.confirm",
            "write a list in square brackets",
        ),
        (ADJUST + '[guard]\nname = "G"\n', "[guard]", "guard", "write [[guard]] with two brackets"),
        (ADJUST + 'title = "again"\n', 'title = "again"', "", "this key stands there already"),
        (ADJUST + "[levels]\n", "[levels]\n", "", "there is a [levels] already"),
        (
            LOOPED.replace('id = "left"', 'id = "Left 1"'),
            'id = "Left 1"',
            "loop.1.round.1.id",
            "becomes part of",
        ),
        (
            LOOPED.replace('id = "left"', 'id = "right"'),
            'title = "right side"',
            "loop.1.round.2.id",
            "another round",
        ),
    ],
)
def test_in_our_words(steps: str, at: str, field: str, says: str) -> None:
    found = [one for one in problems(steps) if says in one[2]]
    assert [where for _, where, _ in found] == [field], problems(steps)
    if not at.startswith(("[levels]", 'title = "right')):
        assert found[0][0] == line_of(at, steps)
    assert "should" not in found[0][2]


def test_a_file_without_steps_says_what_to_give() -> None:
    assert ("step", True) in [
        (field, "give at least one [[step]]" in what) for _, field, what in problems("step = []\n", "")
    ]


def test_channels_of_one_name_are_told_once() -> None:
    twice = HEAD.replace('name = "panel"', 'name = "output"')
    said = [what for *_, what in problems(ADJUST.replace('"output"', '"x"'), twice) if "declared" in what]
    assert said == ["no channel 'x' is declared; declared are output"]


def test_a_byte_order_mark_is_no_mistake(tmp_path: Path) -> None:
    path = tmp_path / "marked.toml"
    path.write_text(HEAD + ADJUST, encoding="utf-8-sig")
    assert load_procedure(path).text == HEAD + ADJUST
    load_procedure_text("\ufeff" + HEAD + ADJUST, "p.toml")


def test_what_cannot_be_read_is_said(tmp_path: Path) -> None:
    latin = tmp_path / "latin.toml"
    latin.write_bytes(b"# one\n# two \xb5V\n")
    for path, line, says in (
        (latin, 2, "save the file as UTF-8"),
        (tmp_path, 1, "it is a folder"),
        (tmp_path / "absent.toml", 1, "there is no such file"),
    ):
        with pytest.raises(ProcedureError) as caught:
            load_procedure(path)
        assert [(one.line, says in one.message) for one in caught.value.problems] == [(line, True)]


def test_a_file_of_the_other_kind_is_recognised() -> None:
    bench = '[bench]\nname = "B"\n[[meter]]\nname = "m"\n'
    ((line, _, message),) = problems(bench, "")
    assert (line, "this is a bench file" in message) == (3, True)
    with pytest.raises(BenchError, match="this is a procedure, not a bench file"):
        load_bench_text(HEAD + ADJUST, "p.toml")
