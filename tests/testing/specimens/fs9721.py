"""Frames of the vector file, whose head names its sources."""

from meterlog.testing import Specimen
from meterlog_drivers.handheld.fs9721 import driver
from tests.testing.specimens.kinds import frames

SPECIMENS = [Specimen(driver=driver, rows=frames("fs9721.csv"))]
