"""The checker: every problem at once, with file, line and field, and what would be right."""

import re
from pathlib import Path

import pytest

from meterlog.files import find_line
from meterlog.procedure import Procedure, ProcedureError, load_procedure, load_procedure_text
from meterlog.quantity import References, parse_quantity
from tests.procedure.bench import HEAD
from tests.procedure.test_patterns import ADJUST, ALTERNATE, BACK_OFF, EXTREMUM

SHIPPED = sorted(Path("config/procedures").glob("*.toml"))


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_shipped_procedures_are_sound(path: Path) -> None:
    assert isinstance(load_procedure(path), Procedure)


def problems(steps: str, head: str = HEAD) -> list[tuple[int, str, str]]:
    with pytest.raises(ProcedureError) as caught:
        load_procedure_text(head + steps, "p.toml")
    assert str(caught.value).startswith("p.toml:")
    return [(problem.line, problem.field, problem.message) for problem in caught.value.problems]


def line_of(text: str, steps: str) -> int:
    """Where `text` stands, counted by hand: not by the code under test."""
    return (HEAD + steps).split(text)[0].count("\n") + 1


@pytest.mark.parametrize(
    ("broken", "fixed", "at", "field", "says"),
    [
        ('tolerance = "0.1 dB"', "tolerance = 0.1", "tolerance", "tolerance", "with its unit"),
        ('tolerance = "0.1 dB"', 'tolerance = "0.1"', "tolerance", "tolerance", "unit"),
        ('tolerance = "0.1 dB"', 'tolerance = "0.1 Hz"', "tolerance", "tolerance", "does not fit"),
        ('target = "+4 dBu"', 'target = "4 dB"', "target", "target", "reference"),
        ('target = "+4 dBu"', 'target = "4 furlongs"', "target", "target", "furlongs"),
        ('target = "+4 dBu"', 'target = "0 dBFS"', "target", "target", "dBFS"),
        ('target = "+4 dBu"', 'target = "455 kHz"', "target", "target", "no level of"),
        ('target = "+4 dBu"', "", "[[step]]", "target", "missing"),
        ('channel = "output"', 'channel = "outptu"', 'channel = "outptu"', "channel", "output, panel"),
        (
            'title = "Level"',
            'title = "Level"\ntollerance = "1 dB"',
            "tollerance",
            "tollerance",
            "misspelling",
        ),
        ('pattern = "adjust"', 'pattern = "ajust"', "pattern =", "pattern", "did you mean 'adjust'?"),
        (
            'id = "level"',
            'id = "Level 1"',
            "id =",
            "id",
            "'Level 1' is not possible here; write small letters",
        ),
    ],
)
def test_a_mistake_is_named_with_line_and_field(
    broken: str, fixed: str, at: str, field: str, says: str
) -> None:
    steps = ADJUST.replace(broken, fixed)
    found = problems(steps)
    (line, where, message) = found[0]
    expected = line_of(at, steps)
    assert line == expected, found
    assert where.endswith(field)
    assert says in message


@pytest.mark.parametrize(
    ("steps", "pattern", "field"),
    [
        (ADJUST, "adjust", "only_if_needed"),
        (EXTREMUM, "extremum", "end_stops"),
        (BACK_OFF, "back-off", "revisit"),
        (ALTERNATE, "alternate", "aim_off"),
    ],
)
@pytest.mark.parametrize("written", ['"yes"', '"true"', "1"])
def test_only_true_is_true(steps: str, pattern: str, field: str, written: str) -> None:
    steps = steps.replace(f'"{pattern}"', f'"{pattern}"\n{field} = {written}')
    shown = written.replace('"', "'")
    message = f"write true or false without quotes, not {shown}"
    assert problems(steps) == [(line_of(f"{field} = ", steps), f"step.1.{field}", message)]


def test_a_time_without_its_unit_is_refused_with_a_point_too() -> None:
    steps = ADJUST.replace('pattern = "adjust"', 'pattern = "adjust"\ndwell = 1.5')
    message = 'write a text with its unit, for example "1.5 s" or "20 min"'
    assert problems(steps) == [(line_of("dwell", steps), "step.1.dwell", message)]


def test_all_problems_are_told_at_once() -> None:
    steps = ADJUST.replace("+4 dBu", "+4 dB") + EXTREMUM.replace('bracket = "1 dB"\n', "") + BACK_OFF
    assert [field for _, field, _ in problems(steps)] == ["step.1.target", "step.2.bracket"]


@pytest.mark.parametrize("field", ["bracket", "tolerance"])
def test_a_fall_no_deeper_than_bracket_or_tolerance_cannot_work(field: str) -> None:
    steps = re.sub(rf'{field} = ".*"', f'{field} = "3 dB"', BACK_OFF)
    ((line, where, message),) = problems(steps)
    assert (line, where) == (line_of(f'{field} = "3 dB"', steps), f"step.1.{field}")
    assert "less than the fall" in message


def test_condition_is_pointed_at_inside_its_step() -> None:
    steps = ALTERNATE.replace('target = "200 mV"', 'target = "200 mX"')
    ((line, field, _),) = problems(steps)
    assert line == line_of('target = "200 mX"', steps)
    assert field == "step.1.condition.2.target"


def test_zero_target_needs_an_absolute_tolerance() -> None:
    steps = ALTERNATE.replace('tolerance = "2 mV"', 'tolerance = "1 %"')
    ((_, field, message),) = problems(steps)
    assert field == "step.1.condition.1.tolerance"
    assert "is nothing; write an absolute one" in message


def test_two_steps_with_one_id() -> None:
    ((line, field, message),) = problems(ADJUST + ADJUST)
    assert (field, message) == ("step.2.id", "'level' is used twice; rename one of them")
    assert line == line_of('id = "level"', ADJUST) + ADJUST.count("\n")


def test_broken_toml_names_the_line() -> None:
    ((line, _, message),) = problems('[[step]]\nid = "x\n', HEAD)
    assert line == HEAD.count("\n") + 2
    assert "no valid TOML" in message


def test_unreadable_file_is_a_problem_too(tmp_path: Path) -> None:
    with pytest.raises(ProcedureError, match="cannot be read"):
        load_procedure(tmp_path / "absent.toml")


def test_bench_references_serve_where_the_file_has_none() -> None:
    steps = ADJUST.replace("+4 dBu", "-18 dBFS")
    full_scale = References(dbfs=parse_quantity("+18 dBu"))
    procedure = load_procedure_text(HEAD + steps, "p.toml", full_scale)
    # EBU R 68: -18 dBFS is the alignment level, 0 dBu where full scale is +18 dBu
    assert procedure.step("level").target.base == pytest.approx(0.774596669)


def test_file_references_count_before_the_bench() -> None:
    steps = ADJUST.replace("+4 dBu", "0 VU")
    bench = References(vu=parse_quantity("0 dBu"))
    procedure = load_procedure_text(HEAD + steps, "p.toml", bench)
    assert procedure.step("level").target.base == pytest.approx(1.227652988)


def test_digest_is_of_the_exact_text() -> None:
    one = load_procedure_text(HEAD + ADJUST, "p.toml")
    other = load_procedure_text(HEAD + ADJUST + "\n", "p.toml")
    assert one.digest != other.digest
    assert one.text == HEAD + ADJUST


class TestFindLine:
    TEXT = (
        'a = 1\n[t]\nb = """\nc = 9\n"""\nc = 2\n[[x]]\nd = 1\n[[x]]\nd = 2\n[[x.y]]\ne = 3\n[[x.y]]\ne = 4\n'
        "[[z]]\n[[z.y]]\n"
    )

    @pytest.mark.parametrize(
        ("path", "line"),
        [
            (("a",), 1),
            (("t", "c"), 6),
            (("x", 0, "d"), 8),
            (("x", 1, "d"), 10),
            (("x", 1, "y", 1, "e"), 14),
            (("x", 1, "missing"), 9),
            (("z", 0, "y", 0), 16),
            (("nowhere",), 1),
        ],
    )
    def test_line_of_a_path(self, path: tuple[str | int, ...], line: int) -> None:
        assert find_line(self.TEXT, path) == line
