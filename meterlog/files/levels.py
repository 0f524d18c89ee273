"""The table [levels] of a procedure or bench file: the references that levels need."""

from typing import Annotated, Any

from pydantic import Field, ValidationError

from meterlog.files.fields import Level, Real
from meterlog.files.tables import Table
from meterlog.quantity import References

NO_REFERENCES = References()


class Levels(Table):
    """0 VU and 0 dBFS as levels, and the ohms of dBm."""

    vu: Level | None = None
    dbfs: Level | None = None
    dbm_ohm: Annotated[Real, Field(gt=0)] | None = None

    def over(self, others: References) -> References:
        """These references, and the others where this table is silent."""
        return References(
            vu=self.vu or others.vu, dbfs=self.dbfs or others.dbfs, dbm_ohm=self.dbm_ohm or others.dbm_ohm
        )


def references_in(data: dict[str, Any], others: References = NO_REFERENCES) -> References:
    """What the file's [levels] states counts before `others`.

    An unsound table states nothing here: the same mistake is found again, with its place, when the whole
    file is validated.
    """
    try:
        return Levels.model_validate(data.get("levels", {}), context={"references": others}).over(others)
    except ValidationError:
        return others
