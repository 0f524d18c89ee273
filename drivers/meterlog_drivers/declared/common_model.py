"""What the tables of every description of a meter share."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from meterlog.files import Seconds

Pause = Annotated[Seconds, Field(le=60.0)]


STRICT = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True, populate_by_name=True)
"""Of a table: nothing else may stand in it."""


class Table(BaseModel):
    model_config = STRICT


class Head(Table):
    """[dialect]. period: how often a reading is to be expected; a meter that is asked is asked no sooner."""

    name: Annotated[str, Field(min_length=1, max_length=80)]
    source: Annotated[str, Field(min_length=1)]
    period: Annotated[Pause, Field(gt=0)] = 0.5
