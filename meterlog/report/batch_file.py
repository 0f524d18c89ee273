"""The file of a batch: which units are to be done with one procedure."""

from pathlib import Path
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from meterlog.files import FileError, parse_toml, problems_in, read_text

Text = Annotated[str, Field(min_length=1, max_length=200)]


class Batch(BaseModel):
    """`pair_by` names the step by whose values units are matched into pairs, "" for none."""

    model_config = ConfigDict(extra="forbid", frozen=True)

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


class _File(BaseModel):
    model_config = ConfigDict(extra="forbid")

    batch: Batch


def load_batch(path: Path) -> Batch:
    """FileError with every problem found."""
    text = read_text(path)
    try:
        return _File.model_validate(parse_toml(text, str(path))).batch
    except ValidationError as error:
        raise FileError(problems_in(error, text, str(path))) from error
