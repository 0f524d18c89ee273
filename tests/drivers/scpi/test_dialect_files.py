"""Dialects as files: what manuals say of each family, and what is wrong with a file told at its line."""

import dataclasses
import re
from pathlib import Path

import pytest

from meterlog.reading import Coupling, Line, Settings, Wanted
from meterlog_drivers.scpi import dialect_tables
from meterlog_drivers.scpi.conversation import INPUT_CHARACTERS
from meterlog_drivers.scpi.dialect import Dialect
from meterlog_drivers.scpi.dialect_file import PROBED, find_dialect, shipped
from meterlog_drivers.scpi.driver import driver
from meterlog_drivers.scpi.panel import questions
from meterlog_drivers.scpi.plan import plan_of

DOCUMENT = (Path(__file__).parents[3] / "docs" / "scpi.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", shipped())
def test_each_shipped_dialect_measures_volts_and_is_in_the_document(name: str) -> None:
    dialect = find_dialect(name)
    plan = plan_of(Settings(coupling=Coupling.AC), dialect)
    assert plan.configure
    assert dialect.name == name
    assert f"| `{name}` |" in DOCUMENT


def test_those_that_are_looked_for_have_a_question() -> None:
    assert all(find_dialect(name).probe for name in PROBED)


@pytest.mark.parametrize("name", shipped())
def test_no_message_is_longer_than_the_input_of_a_serial_meter(name: str) -> None:
    """About 100 characters wait in the input of a bench meter before it drops DTR (its manual)."""
    dialect = find_dialect(name)
    options = {"buffered": True} if dialect.memory else {}
    settings = Settings(range_max=None if name == "two-display" else 1000.0, options=options)
    plan = plan_of(settings, dialect)
    messages = [*plan.configure, *plan.settle, *(dialect.memory.arm if dialect.memory else ())]
    assert all(len(message) + 2 <= INPUT_CHARACTERS for message in messages)


@pytest.mark.parametrize(
    ("name", "wanted_hz", "command", "waits_s"),
    [
        ("band", 20.0, "VOLT:AC:BAND 20", 0.625),
        ("band", 15.0, "VOLT:AC:BAND 3", 2.5),
        ("band", 190.0, "VOLT:AC:BAND 20", 0.625),
        ("band", 200.0, "VOLT:AC:BAND 200", 0.025),
        ("memory-band", 20.0, "VOLT:AC:BAND 20", 0.625),
        ("plugin-band", 3.0, "DET:BAND 3", 7.0),
        ("plugin-band", 20.0, "DET:BAND 20", 1.0),
        ("plugin-band", 1000.0, "DET:BAND 200", 0.1),
        ("detector-band", 30.0, "VOLT:AC:DET:BAND 30", 1.0),
        ("elements", 20.0, "VOLT:AC:DET:BAND 3", 7.0),
        ("serial-remote", 200.0, "DET:BAND 200", 0.6),
    ],
)
def test_filters_and_waits_are_those_of_the_manuals(
    name: str, wanted_hz: float, command: str, waits_s: float
) -> None:
    """Manuals of four meter families: steps, that 15 picks 3 and 190 picks 20, default waits or the highest
    rates for settled readings. Waits of detector-band and serial-remote: from memory of older relatives."""
    dialect = find_dialect(name)
    (ac_filter,) = dialect.ac_filter
    header = dialect.function["voltage-ac"].header
    sent = ac_filter.command.format(header=header, hz=f"{ac_filter.step_hz(wanted_hz):g}")
    assert (sent, ac_filter.settles_s(wanted_hz)) == (command, waits_s)
    plan = plan_of(Settings(coupling=Coupling.AC, ac_filter_hz=wanted_hz), dialect)
    assert plan.reading_s() > waits_s, "no answer is given up before the meter can have it"


def test_a_serial_meter_opens_its_port_as_its_manual_says() -> None:
    """Two stop bits fixed, Ctrl-C as device clear: a bench meter's manual."""
    assert driver.line_for(Settings(dialect="serial-remote")) == Line(9600, 8, "N", 2, dtr=True)
    assert find_dialect("serial-remote").clear == "\x03"
    assert driver.line_for(Settings()) == driver.line


def written(tmp_path: Path, text: str) -> Settings:
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    return Settings(dialect=str(path))


MINE = """
like = "band"
summary = "a meter with a number of its own for overload"
overload = 1e9

[function.voltage-dc]
configure = "VDC"
range = "RANG {range}"
"""


def test_a_file_says_only_what_is_different(tmp_path: Path) -> None:
    settings = written(tmp_path, MINE)
    driver.check(settings)
    dialect = find_dialect(settings.dialect)
    assert (dialect.name, dialect.overload) == ("mine", 1e9)
    assert dialect.ac_filter == find_dialect("band").ac_filter
    plan = plan_of(Settings(range_max=10.0), dialect)
    assert plan.configure == ["VDC", "RANG 10"]
    assert plan_of(Settings(function="resistance"), dialect).configure == ["CONF:RES"]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("like = 'bandd'", r"mine\.toml:1: like: no dialect 'bandd' to be like; there are band, "),
        ("like = 'band'\nspeed = 1", r"mine\.toml:2: speed: no such field here"),
        ("like = 'band'\noverload = 'big'", r"mine\.toml:2: overload: write a number without quotes"),
        ("like = 'band'\n\n[memory]\nquestion = 'R?'", r"mine\.toml:3: memory\.arm: missing"),
        ("like = 'band'\n[probe]\nquestion = 'X?'\nnumbers = []", r"mine\.toml:2: probe: write numbers or a"),
        (
            "like = 'plain'\n[probe]\nquestion = 'X?'\npattern = '('",
            r"mine\.toml:4: probe\.pattern: no regular",
        ),
        ("like = 'band'\nelements = ['time']", r"mine\.toml:2: elements: one of the elements is"),
        ("like = 'band'\n[function.loudness-dc]\nconfigure = 'X'", r"no function 'loudness'"),
        ("summary = 'nothing else stands here'", r"mine\.toml:1: function: missing"),
        ("like = 'band'\nsetup = ['" + "X" * 91 + "']", r"mine\.toml:2: setup\.1: is too long"),
        (
            "like = 'plain'\n[[ac_filter]]\ncommand = 'X'\nsteps_hz = [3, 20]\nsettling_s = [1]",
            r"mine\.toml:2: ac_filter\.1: settling_s has a time for each",
        ),
        ("like = ", r"mine\.toml:1: no valid TOML"),
    ],
)
def test_what_is_wrong_in_a_file_is_told_at_its_line(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        driver.check(written(tmp_path, text))


def test_what_is_no_dialect() -> None:
    with pytest.raises(ValueError, match="no dialect 'tea'; there are band, "):
        driver.check(Settings(dialect="tea"))
    with pytest.raises(ValueError, match="there is no such file"):
        driver.check(Settings(dialect="/nowhere/mine.toml"))


@pytest.mark.parametrize(
    ("settings", "text"),
    [
        (Settings(dialect="band", options={"buffered": True}), '"band" knows no memory'),
        (
            Settings(dialect="two-display", function="frequency", displays=(2,)),
            r"wants display 2 of this meter and none its main one: add a \[\[channel\]\] without display",
        ),
        (
            Settings(dialect="two-display", second=Wanted("frequency"), displays=(1, 3)),
            "wants display 3; this driver reads displays 1 and 2",
        ),
        (Settings(dialect="two-display", range_max=1.0), "no command for a range of VDC"),
        (Settings(dialect="two-display", options={"samples": 2}), "one reading at a time"),
        (Settings(dialect="memory-band", options={"buffered": True, "samples": 9}), "without end"),
        (Settings(dialect="memory-band", options={"interval": 0.1}), "interval needs buffered"),
        (Settings(options={"cycles": 3.0}), "possible are 0.02, 0.2, 1, 10, 100"),
        (Settings(coupling=Coupling.AC, options={"cycles": 1.0}), "functions without AC"),
        (
            Settings(dialect="two-display", coupling=Coupling.AC, ac_filter_hz=20.0),
            "no command for an AC filter",
        ),
    ],
)
def test_what_a_dialect_cannot_do_is_refused(settings: Settings, text: str) -> None:
    with pytest.raises(ValueError, match=text):
        driver.check(settings)


def test_what_some_dialect_can_do_is_left_to_the_choice() -> None:
    driver.check(Settings(options={"buffered": True}))
    driver.check(Settings(coupling=Coupling.AC, ac_filter_hz=20.0))


def test_the_cycles_of_the_power_line_are_sent() -> None:
    plan = plan_of(Settings(options={"cycles": 0.2}), find_dialect("band"))
    assert plan.settle == ["VOLT:DC:NPLC 0.2"]
    assert plan.reading_s() < 0.1


def test_the_example_of_the_document(tmp_path: Path) -> None:
    """Its own dialect is read, and what it says counts."""
    text = next(one for one in re.findall(r"```toml\n(.*?)```", DOCUMENT, re.DOTALL) if "like" in one)
    dialect = find_dialect(written(tmp_path, text).dialect)
    assert dialect.ac_filter[0].command == "{header}:FILT {hz}"
    assert len(dialect.ac_filter) == 1


def test_the_panel_s_questions_of_the_document(tmp_path: Path) -> None:
    text = next(one for one in re.findall(r"```toml\n(.*?)```", DOCUMENT, re.DOTALL) if "[panel]" in one)
    dialect = find_dialect(written(tmp_path, f"like = 'band'\n{text}").dialect)
    plan = plan_of(Settings(coupling=Coupling.AC, range_max=1.0), dialect)
    assert list(questions(plan)) == ["SENS:FUNC?", "VOLT:AC:RANG:AUTO?", "VOLT:AC:RANG?"]


@pytest.mark.parametrize(
    ("settings", "asked"),
    [
        (Settings(coupling=Coupling.AC), ["FUNC?", "VOLT:AC:RANG:AUTO?", "CALC:STAT?"]),
        (Settings(range_max=10.0), ["FUNC?", "VOLT:DC:RANG:AUTO?", "VOLT:DC:RANG?", "CALC:STAT?"]),
        (Settings(function="frequency"), ["FUNC?", "CALC:STAT?"]),
        (Settings(function="diode"), ["FUNC?", "CALC:STAT?"]),
        (Settings(dialect="band"), ["FUNC?", "VOLT:DC:RANG:AUTO?", "VOLT:DC:NULL:STAT?"]),
        (Settings(dialect="two-display"), []),
    ],
)
def test_what_is_asked_of_the_front_panel(settings: Settings, asked: list[str]) -> None:
    """Of a frequency no range is watched: it is that of the voltage; a diode test has no header."""
    plan = plan_of(settings, find_dialect(settings.dialect or "plain"))
    assert list(questions(plan)) == asked


def test_the_document_names_every_field() -> None:
    ours = [
        one
        for one in vars(dialect_tables).values()
        if getattr(one, "__module__", "") == dialect_tables.__name__
    ]
    tables = [one for one in ours if dataclasses.is_dataclass(one)]
    assert len(tables) >= 11
    names = {one.name for table in [*tables, Dialect] for one in dataclasses.fields(table)}
    tables_themselves = {"name", "function", "probe", "errors", "asking", "ac_filter", "integration"}
    tables_themselves |= {"format", "memory", "second", "panel", "remote", "line", "overflow"}
    assert [name for name in sorted(names - tables_themselves) if f"`{name}`" not in DOCUMENT] == []


def test_a_place_that_nobody_fills_is_refused_where_it_stands(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(
        'like = "band"\nsummary = "mine"\n[function.voltage-dc]\nconfigure = "CONF:VOLT:DC {rage}"\n'
    )
    with pytest.raises(ValueError, match=r"mine.toml:4: .*nothing is known to stand for \{rage\}; there are"):
        find_dialect(str(path))
