"""Every driver of ours holds what the kit asks of drivers."""

from importlib import import_module
from importlib.util import find_spec

import pytest

from meterlog.bench import load_driver
from meterlog.testing import CHECKS, Specimen
from tests.drivers.ours import OURS

INSTALLED = {name: f"tests.testing.specimens.{name.replace('-', '_')}" for name in OURS}
TESTED = [name for name, module in INSTALLED.items() if find_spec(module)]


def specimens(name: str) -> list[Specimen]:
    """Those of a driver."""
    found: list[Specimen] = import_module(INSTALLED[name]).SPECIMENS
    return found


@pytest.mark.parametrize("name", INSTALLED)
def test_every_driver_has_specimens(name: str) -> None:
    assert name in TESTED, f"driver {name!r} has none: write {INSTALLED[name]} as those beside it are"
    assert {one.driver.name for one in specimens(name)} == {load_driver(name).name}


@pytest.mark.parametrize("name", TESTED)
@pytest.mark.parametrize("words", CHECKS)
def test_conformance(words: str, name: str) -> None:
    """NOT_ASKED beside the specimens: checks that mean nothing for this driver, and why."""
    if reason := getattr(import_module(INSTALLED[name]), "NOT_ASKED", {}).get(words):
        pytest.skip(reason)
    for specimen in specimens(name):
        CHECKS[words](specimen)


def test_few_checks_are_not_asked() -> None:
    left_out = {name: getattr(import_module(INSTALLED[name]), "NOT_ASKED", {}) for name in TESTED}
    assert {name: sorted(checks) for name, checks in left_out.items() if checks} == {
        "audio": ["bears noise inside a frame"]
    }
