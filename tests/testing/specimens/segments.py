"""The invented display of the vector files, by its map."""

from meterlog.reading import Coupling, Settings
from meterlog.testing import Specimen
from meterlog_drivers.declared.segments import driver
from tests.drivers.vectors import FOLDER
from tests.testing.specimens.kinds import frames

SPECIMENS = [
    Specimen(
        driver=driver,
        rows=frames("lcd_demo15.csv"),
        settings=Settings(coupling=Coupling.DC, dialect=str(FOLDER / "lcd_demo15.toml")),
    )
]
