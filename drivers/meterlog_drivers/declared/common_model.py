"""The tables that every description of a meter has: what it is, and how its port is opened."""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from meterlog.files import Seconds
from meterlog.reading import Line

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


class LineTable(Table):
    """[line]: how a serial port is opened."""

    baud: Annotated[int, Field(ge=50, le=4_000_000)] = 9600
    data_bits: Literal[5, 6, 7, 8] = 8
    parity: Literal["N", "E", "O", "M", "S"] = "N"
    stop_bits: Annotated[float, Field(ge=1, le=2, multiple_of=0.5)] = 1
    dtr: bool | None = None
    rts: bool | None = None
    quiet: Pause = 0.0
    flow: Literal["none", "xon/xoff", "rts/cts", "dtr/dsr"] = "none"

    def made(self) -> Line:
        return Line(
            self.baud,
            self.data_bits,
            self.parity,
            self.stop_bits,
            self.dtr,
            self.rts,
            quiet_s=self.quiet,
            rts_cts=self.flow == "rts/cts",
        )
