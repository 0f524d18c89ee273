"""The table of a serial line, the same in a bench file and in every file that describes meters."""

from dataclasses import replace
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from meterlog.files.fields import Real, Seconds, Truth, Whole
from meterlog.reading import Flow, Line


class LineTable(BaseModel):
    """How a serial port is opened: what is written here goes before what the driver would do."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    baud: Annotated[Whole, Field(ge=50, le=4_000_000)] | None = None
    data_bits: Literal[5, 6, 7, 8] | None = None
    parity: Literal["N", "E", "O", "M", "S"] | None = None
    stop_bits: Annotated[Real, Field(ge=1, le=2, multiple_of=0.5)] | None = None
    dtr: Truth | None = None
    rts: Truth | None = None
    quiet: Annotated[Seconds, Field(le=60.0)] | None = None
    flow: Flow | None = None

    def over(self, line: Line) -> Line:
        """That line with what the table says instead."""
        said = self.model_dump(exclude_none=True)
        if self.quiet is not None:
            said["quiet_s"] = said.pop("quiet")
        return replace(line, **said)
