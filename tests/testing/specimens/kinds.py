"""What the specimens of several drivers share."""

from collections.abc import Mapping

from meterlog.quantity import Unit
from meterlog.reading import Coupling, State
from meterlog.testing import Row, Shown
from tests.drivers.vectors import rows


def shown_in(row: Mapping[str, str]) -> list[Shown]:
    """What a row of a vector file of frames says; the heads of these files name their sources."""
    if row["expect"] == "reject":
        return []
    number = row["expect"] == "reading"
    return [
        Shown(
            value=float(row["value"]) if number else None,
            unit=Unit(row["unit"]),
            state={"reading": State.OK, "overload": State.OVERLOAD}.get(row["expect"]),
            function=row["function"],
            coupling=Coupling(row["coupling"]),
            flags=frozenset(row["flags"].split()),
            resolution=float(row["resolution"]) if number else None,
        )
    ]


def frames(name: str) -> list[Row]:
    """A vector file of frames, one in a row."""
    return [Row(row["id"], bytes.fromhex(row["hex"]), shown_in(row)) for row in rows(name)]
