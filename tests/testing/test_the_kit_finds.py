"""Each check of the kit fails for a driver that is wrong in its way, and says so; good ones pass all."""

import itertools
import os
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest

from meterlog.reading import Nanoseconds, Wire
from meterlog.testing import CHECKS, Specimen, failures
from meterlog.testing.checks.resources import WARM_UP
from tests.outside.example.example_meter import ExampleMeter
from tests.testing import asked_toy, faulty

FAULTS: dict[str, Callable[[], Specimen]] = {
    "says what it is": lambda: faulty.talking(ExampleMeter, faulty.SaysNothing),
    "reads every row": lambda: faulty.talking(faulty.NoSum),
    "reads the same however the bytes are cut": lambda: faulty.talking(faulty.ForgetsWhatIsCut),
    "dates a reading by its beginning": lambda: faulty.talking(faulty.DatesByTheEnd),
    "bears noise between frames": lambda: faulty.talking(faulty.CountsBytes),
    "bears noise inside a frame": lambda: faulty.talking(faulty.NoSum),
    "begins in the middle of a frame, if it talks by itself": lambda: faulty.talking(faulty.NoSum),
    "bears any bytes": lambda: faulty.talking(faulty.Chokes),
    "takes silence for no reading": lambda: faulty.talking(faulty.Repeats),
    "is not connected while nobody answers": lambda: faulty.talking(faulty.ConnectsToAnything),
    "is not connected to anything": lambda: faulty.talking(faulty.ConnectsToAnything),
    "ends every call while the line babbles": lambda: faulty.talking(faulty.Overstays),
    "ends every call under a flood": lambda: faulty.talking(faulty.Repeats),
    "says that the wire is lost, whenever it is": lambda: faulty.talking(faulty.HidesLoss),
    "never takes a late answer for the next, if it is asked": lambda: asked_toy.specimen(faulty.TakesLate),
    "never takes a cut answer for a number, if it is asked": lambda: asked_toy.specimen(faulty.TakesCut),
    "is asked no faster than it measures, if it is asked": lambda: asked_toy.specimen(faulty.Hurries),
    "knows another instrument": lambda: asked_toy.specimen(faulty.SameIdentity),
    "refuses an identity that the bench file does not mean": lambda: faulty.talking(
        ExampleMeter, faulty.AnyIdentity
    ),
    "refuses settings by ValueError alone": lambda: faulty.talking(ExampleMeter, faulty.AnyOption),
    "opens nothing and starts nothing": lambda: faulty.talking(faulty.Sleeps),
    "leaves nothing behind": lambda: faulty.talking(faulty.LeavesDescriptors),
    "keeps no more than it needs": lambda: faulty.talking(faulty.KeepsAll),
    "comes back when it is plugged in again": lambda: replace(
        faulty.talking(ExampleMeter, faulty.OnlyOnce), longest_s=0.2
    ),
    "stops in time while the far end hangs": lambda: replace(faulty.talking(faulty.Hangs), longest_s=1.0),
}

MORE: list[tuple[str, Callable[[], Specimen], str]] = [
    ("bears noise inside a frame", lambda: faulty.talking(faulty.Chokes), "KeyError"),
    ("takes silence for no reading", lambda: faulty.talking(faulty.Spins), "without waiting"),
    (
        "says that the wire is lost, whenever it is",
        lambda: faulty.talking(faulty.SwallowsLoss),
        "nothing raised WireLost",
    ),
    ("reads every row", lambda: faulty.talking(faulty.ClosesTheWire), "closed the wire"),
    ("opens nothing and starts nothing", lambda: faulty.talking(faulty.StartsThreads), "starts a thread"),
    ("leaves nothing behind", lambda: faulty.talking(faulty.LeavesMemory), "bytes of memory"),
    (
        "refuses settings by ValueError alone",
        lambda: faulty.talking(ExampleMeter, faulty.OddError),
        "LookupError",
    ),
]


@pytest.fixture(autouse=True)
def _nothing_kept() -> Iterator[None]:
    yield
    for one in faulty.KEPT:
        if len(one) == 2:
            os.close(int.from_bytes(one, "big"))
    faulty.KEPT.clear()


@pytest.mark.parametrize(
    "good", [lambda: faulty.talking(ExampleMeter), asked_toy.specimen], ids=["talks", "asked"]
)
def test_a_good_driver_passes_every_check(good: Callable[[], Specimen]) -> None:
    assert {words: fault for words, fault in failures(good()) if fault} == {}


def test_every_check_has_a_driver_that_fails_it() -> None:
    assert set(FAULTS) == set(CHECKS)


@pytest.mark.parametrize("words", CHECKS)
def test_a_check_finds_its_fault(words: str) -> None:
    with pytest.raises(AssertionError) as found:
        CHECKS[words](FAULTS[words]())
    assert len(str(found.value).split()) > 4, "in words"


@pytest.mark.parametrize(("words", "faulty", "said"), MORE, ids=[said for _, _, said in MORE])
def test_a_check_says_what_is_wrong(words: str, faulty: Callable[[], Specimen], said: str) -> None:
    with pytest.raises(AssertionError, match=said):
        CHECKS[words](faulty())


def test_a_thread_that_ends_meanwhile_was_not_left_by_the_driver() -> None:
    """It was there before, and is nobody's leak."""
    may_end = threading.Event()
    other = threading.Thread(target=may_end.wait, args=(30,))
    other.start()

    class EndsIt(ExampleMeter):
        def __init__(self, wire: Wire, monotonic_ns: Nanoseconds) -> None:
            super().__init__(wire, monotonic_ns)
            if next(connections) > WARM_UP:
                may_end.set()
                other.join()

    connections = itertools.count(1)
    CHECKS["leaves nothing behind"](faulty.talking(EndsIt))
    assert not other.is_alive()
