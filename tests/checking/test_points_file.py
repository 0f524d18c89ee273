"""The points file: what it says, and every mistake with file, line and field. Figures are made up."""

from pathlib import Path

import pytest

from meterlog.checking.errors import CheckError
from meterlog.checking.points_file import load_points, load_points_text
from meterlog.files import FileError
from meterlog.quantity import References, Unit, parse_quantity
from tests.checking.test_run import AGAINST, POINTS

SHIPPED = sorted((Path(__file__).parents[2] / "config" / "checks").glob("*.toml"))


def test_the_shipped_files_are_sound() -> None:
    assert [path.stem for path in SHIPPED] == ["frequency-response", "reference-dc-ac", "second-meter"]
    assert [len(load_points(path).points) for path in SHIPPED] == [8, 2, 2]


def test_what_a_file_says() -> None:
    found = load_points_text(POINTS, "points.toml")
    dc, ac = found.points
    assert (found.title, found.every_days, found.text) == ("Test", 7.0, POINTS)
    assert found.references["source"].serial_number == "R-12"
    assert (dc.value.base, dc.unit, dc.k, dc.frequency_hz) == (10.00006, Unit.VOLT, 2.5, None)
    assert ac.frequency_hz == 1000.0
    assert ac.uncertainty is not None
    assert ac.uncertainty.half_width(ac.value.base) == pytest.approx(0.0003873)  # 0.05 % of 0.7746 V


def test_levels_go_by_the_file_or_by_the_bench() -> None:
    """+4 dBu is 1.2277 V (0 dBu = sqrt(0.6) V, ITU-R V.574)."""
    text = POINTS.replace('"0.7746 V"', '"0 VU"')
    with_levels = f'{text}\n[levels]\nvu = "+4 dBu"\n'
    by_bench = load_points_text(text, "p.toml", References(vu=parse_quantity("+4 dBu")))
    for found in (load_points_text(with_levels, "p.toml"), by_bench):
        assert found.points[1].value.base == pytest.approx(0.6**0.5 * 10 ** (4 / 20))
    with pytest.raises(FileError, match="VU"):
        load_points_text(text, "p.toml")


# (what is changed, into what, the field, what is said)
MISTAKES = [
    ('title = "Test"', 'title = ""', "checks.title", "is empty; write a text"),
    (
        'title = "Test"',
        'title = "Test"\nevery_days = 0.5',
        "checks.every_days",
        "must be at least 1.0, not 0.5",
    ),
    ('value = "10.00006 V"', "value = 10", "point.1.value", "write a text with its unit"),
    ('value = "10.00006 V"', 'value = "10 mA"', "point.1.value", "10 mA does not fit; write a value in V"),
    ('range = "1 V"', 'range = "1 kohm"', "point.2.range", "1 kohm does not fit; write a value in V"),
    ('frequency = "1 kHz"\n', "", "point.2.frequency", "missing; what a meter may be off hangs on it"),
    (
        'frequency = "1 kHz"',
        'frequency = "1 V"',
        "point.2.frequency",
        "1 V does not fit; write a value in Hz",
    ),
    ('coupling = "ac"\n', "", "point.2.coupling", "missing; write dc, ac or acdc"),
    (
        'coupling = "dc"',
        'function = "resistance"\ncoupling = "dc"',
        "point.1.coupling",
        "means nothing for resis",
    ),
    (
        'coupling = "dc"',
        'function = "volts"',
        "point.1.function",
        "no function 'volts'; functions are voltage",
    ),
    ('uncertainty = "50 uV"\n', "", "point.1.uncertainty", "missing; how sure is the value"),
    (
        'uncertainty = "50 uV"',
        'uncertainty = "1 mA"',
        "point.1.uncertainty",
        "1 mA does not fit; write it in V, in %",
    ),
    (
        '"10.00006 V"\nuncertainty = "50 uV"',
        '"0 V"\nuncertainty = "1 %"',
        "point.1.uncertainty",
        "1 % is nothing at 0 V",
    ),
    ("k = 2.5", "k = 0.5", "point.1.k", "must be at least 1.0"),
    ("k = 2.5", 'k = 2.5\ndrive = "yes"', "point.1.drive", "write true or false without quotes"),
    ("k = 2.5", "k = 2.5\ndrive = true", "point.1.drive", "a voltage with a frequency only"),
    (
        'reference = "source"',
        'reference = "sauce"',
        "point.1.reference",
        "no reference 'sauce'; references are source",
    ),
    (
        'reference = "source"',
        'against = "x"\nreference = "source"',
        "point.1.reference",
        "write either reference or",
    ),
    ('name = "ac"', 'name = "dc"', "point.2.name", "'dc' is the name of another point"),
    ('dwell = "0.8 s"', 'dwel = "0.8 s"', "point.1.dwel", "no such field here; look for a misspelling"),
]


@pytest.mark.parametrize(("old", "new", "field", "said"), MISTAKES, ids=lambda text: text[:25])
def test_a_mistake_is_told_with_line_and_field(old: str, new: str, field: str, said: str) -> None:
    text = POINTS.replace(old, new, 1)
    assert text != POINTS
    with pytest.raises(FileError) as caught:
        load_points_text(text, "points.toml")
    problem = next(one for one in caught.value.problems if one.field == field)
    assert said in problem.message
    line = text.splitlines()[problem.line - 1]
    key = field.rpartition(".")[2]
    assert line.startswith((f"{key} =", "[[point]]"))  # what is missing is told at its table


def test_another_file_is_told_apart() -> None:
    with pytest.raises(FileError, match="this is no points file"):
        load_points_text('[bench]\nname = "x"\n', "bench.toml")


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(CheckError, match="there is no such file"):
        load_points(tmp_path / "points.toml")


def test_a_second_meter_needs_no_reference() -> None:
    (point,) = load_points_text(AGAINST, "points.toml").points
    assert (point.reference, point.against, point.uncertainty) == ("", "second meter dc", None)
