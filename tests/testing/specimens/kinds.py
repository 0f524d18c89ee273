"""What the specimens of several drivers share."""

from collections.abc import Mapping

from meterlog.quantity import Unit
from meterlog.reading import Coupling, State
from meterlog.testing import Row, Shown
from tests.drivers.vectors import rows

WITHOUT_UNIT = ("hfe", "rpm")
"""The core has no unit for current gain and for revolutions."""
DISPLAYS = {"upper": 1, "lower": 2}


def shown_in(row: Mapping[str, str]) -> list[Shown]:
    """What a row of a vector file of frames says; the heads of these files name their sources."""
    if row["expect"] == "reject":
        return []
    number, flags = row["expect"] == "reading", set(row["flags"].split())
    return [
        Shown(
            value=float(row["value"]) if number else None,
            unit=Unit.NONE if row["unit"] in WITHOUT_UNIT else Unit(row["unit"]),
            state={"reading": State.OK, "overload": State.OVERLOAD}.get(row["expect"]),
            function=row["function"],
            coupling=Coupling(row["coupling"]),
            flags=frozenset(flags - set(DISPLAYS)),
            display=next((DISPLAYS[flag] for flag in DISPLAYS if flag in flags), 1),
            resolution=float(row["resolution"]) if number else None,
        )
    ]


def frames(name: str) -> list[Row]:
    """A vector file of frames, one in a row."""
    return [Row(row["id"], bytes.fromhex(row["hex"]), shown_in(row)) for row in rows(name)]
