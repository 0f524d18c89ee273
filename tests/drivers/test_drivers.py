"""What an entry point of the group "meterlog.drivers" must name; mypy checks the assignments."""

import importlib
import tomllib
from pathlib import Path

import pytest

from meterlog.reading import Driver, Maturity
from meterlog_drivers.audio import driver as audio
from meterlog_drivers.declared import ascii as lines
from meterlog_drivers.declared import binary, segments
from meterlog_drivers.handheld import fs9721
from meterlog_drivers.scpi import driver as scpi
from tests.drivers.handheld.kinds import DRIVERS as HANDHELD

DRIVERS: tuple[Driver, ...] = (
    audio.driver,
    lines.driver,
    binary.driver,
    segments.driver,
    scpi.driver,
    *HANDHELD.values(),
)

ENTRY_POINTS = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text(encoding="utf-8"))[
    "project"
]["entry-points"]["meterlog.drivers"]


@pytest.mark.parametrize("name", sorted(ENTRY_POINTS))
def test_each_entry_point_names_a_driver_of_that_name(name: str) -> None:
    module, _, attribute = ENTRY_POINTS[name].partition(":")
    driver = getattr(importlib.import_module(module), attribute)
    assert driver in DRIVERS
    assert driver.name == name


@pytest.mark.parametrize("driver", DRIVERS, ids=lambda driver: driver.name)
def test_a_driver_says_what_it_is_for_and_how_far_it_is_proven(driver: Driver) -> None:
    assert len(driver.summary) > 20
    # tests/wire/test_drivers_on_wires.py, test_handhelds_on_wires.py: real ports, simulated instruments
    assert driver.maturity is Maturity.SIMULATED


def test_the_line_of_the_chip() -> None:
    """2400 baud, 8N1: data sheet FS9721_LP3, from memory, and every description of these meters."""
    line = fs9721.driver.line
    assert (line.baud, line.data_bits, line.parity, line.stop_bits) == (2400, 8, "N", 1)
