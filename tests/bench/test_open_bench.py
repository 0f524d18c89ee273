"""All links of a bench together, over real sockets, with a driver that a bench file names."""

import threading

import pytest

from meterlog.bench import BenchError, LinkState, OpenBench, SystemClock, load_bench_text
from meterlog.testing import HURRIED, Instrument, Witness
from tests.bench.conftest import Offer

FILE = """
[bench]
name = "Two meters"
[[meter]]
name = "left"
driver = "plain"
address = "{left}"
[[meter]]
name = "right"
driver = "plain"
address = "{right}"
[[channel]]
name = "right channel"
meter = "right"
coupling = "dc"
[[channel]]
name = "left channel"
meter = "left"
coupling = "dc"
"""


def open_bench(left: str, right: str, witness: Witness) -> OpenBench:
    bench = load_bench_text(FILE.format(left=left, right=right), "bench.toml")
    return OpenBench(bench, SystemClock(), witness.deliver, witness.on_state, pace=HURRIED)


@pytest.mark.usefixtures("plain_driver")
def test_each_meter_feeds_its_own_channel() -> None:
    witness = Witness()
    with (
        Instrument(greet=lambda: [(0.0, b"1.0\n")]) as left,
        Instrument(greet=lambda: [(0.0, b"2.0\n")]) as right,
    ):
        bench = open_bench(left.address, right.address, witness)
        bench.start()
        witness.wait_for(lambda: {"left channel", "right channel"} <= {r.channel for r in witness.readings})
        assert bench.stop() == []
    assert {(one.channel, one.value) for one in witness.readings} == {
        ("left channel", 1.0),
        ("right channel", 2.0),
    }
    assert [one.meter for one in bench.statuses()] == ["right", "left"]


@pytest.mark.usefixtures("plain_driver")
def test_an_absent_meter_stops_nothing() -> None:
    witness = Witness()
    with Instrument(greet=lambda: [(0.0, b"1.0\n")]) as left:
        bench = open_bench(left.address, "/dev/serial/by-id/absent", witness)
        bench.start()
        witness.wait_for_readings(1)
        witness.wait_for_state(LinkState.LOST)
        assert bench.stop() == []


@pytest.mark.usefixtures("plain_driver")
def test_no_thread_of_the_bench_is_left_after_stop() -> None:
    before = set(threading.enumerate())
    bench = open_bench("/dev/absent-1", "/dev/absent-2", Witness())
    bench.start()
    ours = {
        thread for thread in set(threading.enumerate()) - before if thread.name.startswith(("meter", "bench"))
    }
    assert len(ours) == 3
    bench.stop()
    for thread in ours:
        thread.join(60.0)
        assert not thread.is_alive()


HANGING = """
import threading
from tests.bench.kit import PlainDriver, PlainMeter

class HangingMeter(PlainMeter):
    polls = 0

    def poll(self, wait_s):
        self.polls += 1
        if self.polls > 3:
            threading.Event().wait(30.0)
        return super().poll(wait_s)

class HangingDriver(PlainDriver):
    def connect(self, wire, settings, monotonic_ns):
        return HangingMeter(wire, "hanging meter", monotonic_ns)

driver = HangingDriver()
"""


@pytest.mark.usefixtures("plain_driver")
def test_a_driver_that_hangs_is_stale_and_holds_up_neither_the_others_nor_the_end(offer: Offer) -> None:
    """B12: an instrument's library may never come back."""
    offer("hanging", "hanging = hanging:driver", HANGING)
    text = FILE.replace('driver = "plain"', 'driver = "hanging"', 1)
    witness = Witness()
    with (
        Instrument(greet=lambda: [(0.0, b"1.0\n")]) as left,
        Instrument(greet=lambda: [(0.05, b"2.0\n")] * 1000) as right,
    ):
        bench = OpenBench(
            load_bench_text(text.format(left=left.address, right=right.address), "bench.toml"),
            SystemClock(),
            witness.deliver,
            witness.on_state,
            pace=HURRIED,
        )
        bench.start()
        witness.wait_for(
            lambda: any(one.meter == "left" and one.state == "stale" for one in witness.statuses)
        )
        witness.wait_for(lambda: len([one for one in witness.readings if one.channel == "right channel"]) > 5)
        assert bench.stop(timeout_s=0.2) == ["left"]


def test_a_driver_that_cannot_be_loaded_is_said_before_anything_is_opened(offer: Offer) -> None:
    offer("broken", "plain = broken:driver", "import absent_library")
    with pytest.raises(BenchError, match="install absent_library"):
        open_bench("/dev/absent-1", "/dev/absent-2", Witness())
