"""What the tables of every description of a meter share."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from meterlog.files import LineTable, Seconds

Pause = Annotated[Seconds, Field(le=60.0)]


class Table(BaseModel):
    model_config = ConfigDict(
        extra="forbid", frozen=True, arbitrary_types_allowed=True, populate_by_name=True
    )


class Head(Table):
    """[dialect]. period: how often a reading is to be expected; a meter that is asked is asked no sooner."""

    name: Annotated[str, Field(min_length=1, max_length=80)]
    source: Annotated[str, Field(min_length=1)]
    period: Annotated[Pause, Field(gt=0)] = 0.5


class Description(Table):
    """What the whole file of each kind has."""

    head: Annotated[Head, Field(alias="dialect")]
    line: LineTable = LineTable()
