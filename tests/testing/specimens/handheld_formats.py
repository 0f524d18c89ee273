"""Hand-held meters by the vector files of their formats, whose heads name their sources."""

from dataclasses import replace

from meterlog.testing import Row, Specimen
from tests.drivers.handheld.kinds import DRIVERS, FORMATS, with_parity
from tests.testing.specimens.kinds import frames

PARITY = ("es51922", "es519-11")
ANSWER_LENGTH = 0x10
"""Of the format abcd-sum16: its vector file has requests too."""


def specimen(name: str) -> Specimen:
    kind = FORMATS[name]
    return Specimen(
        driver=DRIVERS[name],
        rows=[row for row in _rows(name) if kind.name != "abcd-sum16" or row.data[2] == ANSWER_LENGTH],
        question=kind.question,
        period_s=max(kind.period_s, 0.3),
    )


def _rows(name: str) -> list[Row]:
    found = frames(f"{name.replace('-', '_')}.csv")
    return [replace(row, data=with_parity(row.data)) for row in found] if name in PARITY else found
