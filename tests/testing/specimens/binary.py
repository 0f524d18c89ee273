"""Frames with a sum, asked for, by their description. The head of the vector file names its source."""

from meterlog.reading import Coupling, Settings
from meterlog.testing import Specimen
from meterlog_drivers.declared.binary import driver
from tests.testing.specimens.kinds import frames

SPECIMENS = [
    Specimen(
        driver=driver,
        rows=[row for row in frames("abcd_sum16.csv") if row.name.startswith("abcd-0")],
        settings=Settings(coupling=Coupling.DC, dialect="ab-cd-sum"),
        question=bytes.fromhex("AB CD 03 5E 01 D9"),
        period_s=0.1,
    )
]
