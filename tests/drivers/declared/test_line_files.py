"""Files that describe meters in lines: what is wrong is told with file, line and field."""

from pathlib import Path

import pytest

from meterlog.files import FileError
from meterlog.reading import ChecksSettings, ChoosesLine, Coupling, Driver, Recognises, Settings, Wanted
from meterlog.shipped import shipped
from meterlog_drivers.declared.ascii import driver
from meterlog_drivers.declared.line_file import load_lines
from meterlog_drivers.declared.line_plan import plan_of
from tests.drivers.declared.kit import kept, settings

GOOD = """
[dialect]
name = "invented"
source = "invented"
[line]
baud = 4800
quiet = "200 ms"
[ask]
reading = "VAL?"
[[answer]]
line = "{function} {number} {unit}"
[functions]
DCV = "voltage dc"
[units]
mV = "mV"
"""
SELECT = '[select]\n"voltage dc" = "F1"\n'


SHIPPED = [path for path in shipped("dialects") if "[[answer]]" in path.read_text(encoding="utf-8")]


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_shipped_files_are_sound(path: Path) -> None:
    load_lines(path)


@pytest.mark.parametrize(
    ("old", "new", "line", "told"),
    [
        ('name = "invented"', "", 2, "dialect.name: missing"),
        ('source = "invented"', 'source = "invented"\ncolour = "red"', 5, "dialect.colour: no such field"),
        ("baud = 4800", "baud = 12", 6, "line.baud: must be at least 50"),
        ('"200 ms"', '"200"', 7, "line.quiet: "),
        ('reading = "VAL?"', 'reading = "5 \u03a9?"', 9, "ask.reading.*only ASCII"),
        ('reading = "VAL?"', 'reading = "VAL?"\nend = "CRLF"', 10, "ask.end: must be one of 'CR', 'LF'"),
        ('reading = "VAL?"', 'reading = ""', 9, "ask.reading.*: is empty; write a text"),
        ("{number}", "number", 11, r"answer.1.line: neither \{number\} nor \{error\}"),
        ("{number}", "{numbr}", 11, r"answer.1.line: no field \{numbr\}; fields are number"),
        ("{number}", "{number", 11, "answer.1.line: .*written twice"),
        ("{number}", "{number:S.}", 11, "has no digit; write D for each"),
        ("{number}", "{number}{number}", 11, "stands there twice"),
        ("{number}", "{skip}{number}", 11, r"\{skip\} needs a number of characters"),
        ("{function}", "{status:1}", 11, r"\{status\} needs the table \[status\]"),
        ('mV = "mV"', 'mV = "millivolts"', 15, "units.mV: 'millivolts' .* is no unit, function or coupling"),
        ('mV = "mV"', 'mV = "dBu"', 15, "choose volts at the meter"),
        ('mV = "mV"', "mV = 3", 15, "units.mV: write a text"),
        ('mV = "mV"', 'mV = ""', 15, "units.mV: is empty"),
        ('[units]\nmV = "mV"', "", 11, r"\{unit\} needs the table \[units\]"),
        ('{unit}"', '{unit}"\nmeans = "as selected"', 12, r"nothing can be selected without \[select\]"),
        ('{unit}"', '{unit}"\nmeans2 = "Hz"', 12, r"no \{number2\} in the line"),
        ('mV = "mV"', 'mV = "mV"\n[select]\n"mV" = "F1"\n"loud" = "F2"', 18, "select.loud: 'loud'"),
        ('mV = "mV"', 'mV = "mV"\n[receive]\nend = "CRLF"', 17, "'CR or LF', 'none', not 'CRLF'"),
        ('mV = "mV"', 'mV = "mV"\n[receive]\nend = "none"', 16, "by its length or by an idle time"),
        ('mV = "mV"', 'mV = "mV"\n[receive]\nidle = "1 s"', 16, 'write end = "none"'),
        ('mV = "mV"', 'mV = "mV"\n[receive]\nend = "none"\nidle = "1 s"', 11, "the shape of its number"),
        ('[ask]\nreading = "VAL?"', '[select]\n"voltage dc" = "F1"', 8, r"needs \[ask\]"),
        ("[dialect]", "[dialect", 2, "no valid TOML"),
    ],
)  # fmt: skip
def test_a_mistake_is_told_where_it_stands(old: str, new: str, line: int, told: str, tmp_path: Path) -> None:
    assert old in GOOD
    path = kept(tmp_path, GOOD.replace(old, new))
    with pytest.raises(FileError, match=told) as refused:
        load_lines(Path(path))
    assert f"{path}:{line}: " in str(refused.value)
    with pytest.raises(ValueError, match=told):
        driver.check(settings(path))


def test_every_mistake_is_told_at_once(tmp_path: Path) -> None:
    path = kept(tmp_path, GOOD.replace("4800", '"fast"').replace("{number}", "").replace('"mV"', '"mW hour"'))
    with pytest.raises(FileError) as refused:
        load_lines(Path(path))
    assert len(refused.value.problems) == 2, "the line of the answer is looked at once the tables are sound"


def test_what_the_driver_can(tmp_path: Path) -> None:
    checked: Driver = driver
    assert isinstance(checked, ChecksSettings)
    assert isinstance(checked, ChoosesLine)
    assert isinstance(checked, Recognises)
    line = checked.line_for(settings(kept(tmp_path, GOOD)))
    assert (line.baud, line.quiet_s) == (4800, 0.2)


@pytest.mark.parametrize(
    ("wanted", "told"),
    [
        (Settings(), "dialect is missing.*function-number-unit"),
        (Settings(dialect="nobody"), "no dialect 'nobody' is known; write .* or one of"),
        (Settings(dialect="/nowhere/meter.toml"), "/nowhere/meter.toml:1: cannot be read"),
        (settings("prompt", "capacitance", Coupling.NONE), "selects no .capacitance.; it selects voltage dc"),
        (settings("function-number-unit", "power", Coupling.NONE), "shows no .power.; it shows capacitance"),
        (settings("prompt", second=Wanted("frequency")), "one display"),
        (settings("prompt", displays=(2,)), "wants display 2 of this meter and none its main one"),
        (settings("function-number-unit", displays=(2,)), "this meter has one display"),
        (
            settings("number-unit", second=Wanted("frequency"), displays=(1, 3)),
            "wants display 3; this driver",
        ),
        (settings("prompt", range_max=1.0), "sets neither range nor ac_filter"),
        (settings("prompt", options={"speed": 3}), "no option speed"),
    ],
)
def test_settings_that_cannot_be(wanted: Settings, told: str) -> None:
    with pytest.raises(ValueError, match=told):
        driver.check(wanted)


def test_numbers_that_are_nothing_are_told(tmp_path: Path) -> None:
    text = GOOD.replace("{function} {number} {unit}", "{number}")
    with pytest.raises(ValueError, match='does not say what its numbers are; write means = "V dc"'):
        driver.check(settings(kept(tmp_path, text)))


def test_the_identity_names_the_description_by_its_sum(tmp_path: Path) -> None:
    """FIPS 180-4; the sum is that of sha256sum over the file."""
    import hashlib

    path = kept(tmp_path, GOOD)
    expected = hashlib.sha256(Path(path).read_bytes()).hexdigest()[:8]
    plan = plan_of(settings(path))
    assert plan.described.identity().text == f"invented (dialect {expected})"
