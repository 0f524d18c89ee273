"""The JSON Schemas of dialect files: up to date, wide enough for what is read, narrow enough to help."""

import json
import tomllib
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from meterlog.shipped import shipped
from meterlog_drivers.declared.schema import KINDS, schema_of
from tests.drivers.declared.test_document import EXAMPLES
from tests.drivers.declared.test_line_files import GOOD
from tests.drivers.vectors import FOLDER

TABLE = {"ascii": "[[answer]]", "segments": "[[digit]]", "binary": "[value]"}
TEXTS = [path.read_text(encoding="utf-8") for path in (*shipped("dialects"), FOLDER / "lcd_demo15.toml")]


def amiss(kind: str, text: str) -> list[str]:
    validator = Draft202012Validator(schema_of(kind))
    return [error.message for error in validator.iter_errors(tomllib.loads(text))]


@pytest.mark.parametrize("kind", KINDS)
def test_the_kept_file_is_what_the_model_gives(kind: str) -> None:
    kept = Path(__file__).parents[3] / "config" / "dialects" / f"{kind}.schema.json"
    told = f"make it anew: python -m meterlog_drivers.declared.schema {kind} > config/dialects/{kept.name}"
    assert json.loads(kept.read_text(encoding="utf-8")) == schema_of(kind), told


@pytest.mark.parametrize("kind", KINDS)
def test_it_is_a_sound_schema_of_its_dialect(kind: str) -> None:
    """JSON Schema 2020-12, by the meta-schema that comes with the validator."""
    Draft202012Validator.check_schema(schema_of(kind))


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_read_is_valid(kind: str) -> None:
    own = [text for text in [*TEXTS, *EXAMPLES, GOOD] if TABLE[kind] in text]
    assert len(own) >= 2
    assert [message for text in own for message in amiss(kind, text)] == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('name = "invented"', ""),
        ('name = "invented"', 'name = "invented"\ncolour = "red"'),
        ("baud = 4800", 'baud = "4800"'),
        ('"200 ms"', '"soon"'),
        ('mV = "mV"', "mV = 3"),
        ('reading = "VAL?"', 'reading = "VAL?"\nend = "CRLF"'),
    ],
)
def test_a_mistake_is_seen(old: str, new: str) -> None:
    assert old in GOOD
    assert amiss("ascii", GOOD.replace(old, new))
