"""The file of a batch: which units are to be done with one procedure."""

from pathlib import Path
from typing import Annotated

from pydantic import Field, field_validator

from meterlog.files import Table, parse_toml, read_text, tables_in

Text = Annotated[str, Field(min_length=1, max_length=200)]


class Batch(Table):
    """`pair_by` names the step by whose values units are matched into pairs, "" for none."""

    name: Text
    procedure: Text
    unit_model: Text
    serials: Annotated[list[Text], Field(min_length=1)]
    pair_by: str = ""

    @field_validator("serials")
    @classmethod
    def _each_once(cls, serials: list[str]) -> list[str]:
        twice = sorted({serial for serial in serials if serials.count(serial) > 1})
        if twice:
            raise ValueError(f"{', '.join(twice)} stands there more than once")
        return serials


class _File(Table):
    batch: Batch


def load_batch(path: Path) -> Batch:
    """FileError with every problem found."""
    text = read_text(path)
    return tables_in(_File, parse_toml(text, str(path)), text, str(path)).batch
