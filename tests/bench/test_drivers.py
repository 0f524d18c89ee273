"""Finding drivers by entry point: none is imported before it is chosen, every failure says what to do."""

import sys

import pytest

from meterlog.bench import BenchError, installed_drivers, load_driver
from tests.bench.conftest import Offer
from tests.bench.kit import PlainDriver


@pytest.mark.usefixtures("plain_driver")
def test_a_driver_is_listed_without_being_imported_and_loaded_by_name() -> None:
    assert installed_drivers()["plain"].value == "meterlog_plain:driver"
    assert "meterlog_plain" not in sys.modules
    assert isinstance(load_driver("plain"), PlainDriver)


@pytest.mark.usefixtures("plain_driver")
def test_an_unknown_name_is_answered_with_those_that_are_installed() -> None:
    with pytest.raises(BenchError, match=r"no driver 'plane' is installed; installed are: .*plain"):
        load_driver("plane")


def test_two_packages_with_one_name_are_both_named(offer: Offer) -> None:
    offer("first_package", "same = first_package:driver", "")
    offer("second_package", "same = second_package:driver", "")
    with pytest.raises(BenchError, match=r"'same' is offered by .* and .*; uninstall one") as caught:
        load_driver("same")
    assert "first_package" in str(caught.value)
    assert "second_package" in str(caught.value)


def test_one_package_found_twice_is_no_conflict(offer: Offer) -> None:
    """As a checkout beside an installed copy of it."""
    source = "from tests.bench.kit import PlainDriver\ndriver = PlainDriver()\n"
    offer("found_here", "twice = found_here:driver", source)
    offer("found_there", "twice = found_here:driver", source)
    assert load_driver("twice").name == "plain"


@pytest.mark.parametrize(
    ("source", "says"),
    [
        (
            "import absent_library.port",
            "No module named 'absent_library'; install absent_library, which broken",
        ),
        ("raise RuntimeError('no firmware')", "RuntimeError: no firmware; install broken anew"),
        ("driver = object()", "is no driver: it lacks name, summary, maturity, line, connect"),
        ("", "AttributeError: .*driver"),
    ],
)
def test_a_driver_that_cannot_be_used_says_why(offer: Offer, source: str, says: str) -> None:
    offer("broken", "broken = broken:driver", source)
    with pytest.raises(BenchError, match=f"driver 'broken' .*{says}"):
        load_driver("broken")


def test_a_broken_driver_does_not_stand_in_the_way_of_others(offer: Offer) -> None:
    offer("broken", "broken = broken:driver", "raise RuntimeError")
    offer(
        "sound", "sound = sound:driver", "from tests.bench.kit import PlainDriver\ndriver = PlainDriver()\n"
    )
    assert {"broken", "sound"} <= set(installed_drivers())
    assert load_driver("sound").name == "plain"
