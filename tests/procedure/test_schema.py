"""The JSON Schema of procedure files: up to date, wide enough for what is read, narrow enough to help."""

import json
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from pydantic import TypeAdapter, ValidationError

from meterlog.files import Distance, Level, OwnScale, Seconds, ShownIn, Target
from meterlog.procedure import procedure_schema
from meterlog.procedure.model import PATTERNS
from tests.procedure.bench import HEAD
from tests.procedure.test_patterns import ADJUST, ALTERNATE, BACK_OFF

KEPT = Path("config/procedure.schema.json")
SHIPPED = sorted(Path("config/procedures").glob("*.toml"))
VALIDATOR = Draft202012Validator(procedure_schema())


def amiss(text: str) -> list[str]:
    return [error.message for error in VALIDATOR.iter_errors(tomllib.loads(text))]


def test_the_kept_file_is_what_the_model_gives() -> None:
    told = "make it anew: meterlog procedure schema > config/procedure.schema.json"
    assert json.loads(KEPT.read_text()) == procedure_schema(), told


def test_it_is_a_sound_schema_of_its_dialect() -> None:
    """JSON Schema 2020-12, by the meta-schema that comes with the validator."""
    Draft202012Validator.check_schema(procedure_schema())


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_shipped_procedures_are_valid(path: Path) -> None:
    assert amiss(path.read_text()) == []


def test_it_knows_every_pattern() -> None:
    steps = procedure_schema()["properties"]["step"]["items"]["oneOf"]
    names = [step["$ref"].rpartition("/")[2] for step in steps]
    definitions = procedure_schema()["$defs"]
    assert [definitions[name]["properties"]["pattern"]["const"] for name in names] == list(PATTERNS)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('tolerance = "0.1 dB"', "tolerance = 0.1"),
        ('tolerance = "0.1 dB"', 'tolerance = "0.1"'),
        ('target = "+4 dBu"', 'target = "4 furlongs"'),
        ('target = "+4 dBu"', ""),
        ('pattern = "adjust"', 'pattern = "ajust"'),
        ('title = "Level"', 'title = "Level"\ntollerance = "1 dB"'),
        ('id = "level"', 'id = "Level 1"'),
        ('id = "level"', 'id = "level"\nloop = 3'),
        ('id = "level"', 'id = "level"\nhold = "soon"'),
    ],
)
def test_a_mistake_is_seen(old: str, new: str) -> None:
    assert not amiss(HEAD + ADJUST)
    assert amiss(HEAD + ADJUST.replace(old, new))


def test_loops_and_their_words_are_allowed() -> None:
    loop = '[[loop]]\nname = "side"\n[[loop.round]]\nid = "left"\nwhere = "maximum"\n'
    step = BACK_OFF.replace('extremum = "maximum"', 'extremum = "{where}"\nloop = "side"')
    step = re.sub(r'tolerance = ".*"', 'tolerance = "{side}"', step)
    assert amiss(HEAD + loop + step) == []
    assert amiss(HEAD + loop.replace('name = "side"', "") + step)
    assert amiss(HEAD + ALTERNATE.replace('setup = "', 'setup = "{side} ', 1)) == []


FIELDS: dict[str, Any] = {
    "level": Level,
    "target": Target,
    "distance": Distance,
    "shown": ShownIn,
    "own": OwnScale,
    "time": Seconds,
}
# Texts that the parsers read or refuse in their own tests (tests/quantity), by the field they stand in.
READ = [
    *(("level", text) for text in ("1.228 V", "+4 dBu", "-10 VU (0 VU = +4 dBu)", "0 dBm (600 ohm)")),
    *(("level", text) for text in ("4.7 kΩ", "10 µA", "−3 dBV", "1e3 Hz", ".5V", "3 %", "20 °C", "5 ppm")),
    *(("target", text) for text in ("-3 dB", "+4 dBu", "0 mV", "12 cent")),
    *(("distance", text) for text in ("0.1 dB", "±2 %", "+-5 mV", "1 ohm")),
    *(("shown", text) for text in ("dBu", "mV", "dBm (600 ohm)", "kohm")),
    *(("own", text) for text in ("dB", "%", "mA")),
    *(("time", text) for text in ("500 ms", "1.5 s", "20 min", "2 h", "10s")),
]
REFUSED = [
    *(("level", text) for text in ("4", "V", "4 dB", "1,5 V", "four V", "1 furlong", "1 V 2")),
    *(("target", text) for text in ("3", "dB")),
    *(("distance", text) for text in ("-", "0.1", "0.1 dBu")),
    *(("shown", text) for text in ("furlong", "3 V")),
    *(("time", text) for text in ("3", "3 days", "1:30 min")),
]


def by_schema(field: str, text: str) -> bool:
    return Draft202012Validator(TypeAdapter(FIELDS[field]).json_schema()).is_valid(text)


@pytest.mark.parametrize(("field", "text"), READ)
def test_what_is_read_is_valid(field: str, text: str) -> None:
    TypeAdapter(FIELDS[field]).validate_python(text)
    assert by_schema(field, text)


@pytest.mark.parametrize(("field", "text"), REFUSED)
def test_what_is_refused_is_not(field: str, text: str) -> None:
    with pytest.raises(ValidationError):
        TypeAdapter(FIELDS[field]).validate_python(text)
    assert not by_schema(field, text)
