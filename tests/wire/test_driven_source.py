"""The bench's source over a real socket: set, read back, refused, wrong, unplugged, late.

Frequencies are made up; error -222 "Data out of range" is that of SCPI-1999 volume 2, chapter 21;
0 dBu = sqrt(0.6) V.
"""

import math
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing
from dataclasses import replace

import pytest

from meterlog.bench import DrivenSource, SourceEntry, SourceError, SystemClock, load_source_driver
from meterlog.quantity import DBU, VOLT, Quantity
from meterlog.simulate.bench import SimulatedBench
from meterlog.simulate.clock import RunningClock
from meterlog.simulate.scenarios.phono import Phono
from meterlog.simulate.scpi_instrument import Acts
from meterlog.simulate.scpi_server import ScpiServer
from meterlog.simulate.scpi_source import ScpiSource

pytestmark = pytest.mark.wire


class Stuck(ScpiSource):
    """Takes every frequency and stays at 900 Hz."""

    def _commands(self) -> Acts:
        return {**super()._commands(), "[SOURce:]FREQuency[:CW]?": lambda _: "+9.0E+02"}


class Mute(ScpiSource):
    """Its output does not come on."""

    def _commands(self) -> Acts:
        return {**super()._commands(), "OUTPut[:STATe]": lambda _: None}


@pytest.fixture
def bench() -> SimulatedBench:
    return SimulatedBench(Phono(), RunningClock())


@pytest.fixture
def server(bench: SimulatedBench) -> Iterator[ScpiServer]:
    yield from _served(ScpiSource(bench))


def _served(source: ScpiSource) -> Iterator[ScpiServer]:
    server = ScpiServer("source", lambda _: source)
    server.plug()
    yield server
    server.close()


Driven = Callable[..., DrivenSource]


@pytest.fixture
def driven() -> Iterator[Driven]:
    """Makes sources, and closes them in the end."""
    with ExitStack() as opened:
        yield lambda server, **changes: opened.enter_context(closing(_made(server, **changes)))


def _made(server: ScpiServer, **changes: object) -> DrivenSource:
    entry = SourceEntry.model_validate(
        {
            "name": "generator",
            "driver": "scpi",
            "address": server.address,
            "most": Quantity(2.0, VOLT),
            "options": {"amplitude": "rms"},
            **changes,
        }
    )
    return DrivenSource(entry, load_source_driver("scpi"), SystemClock())


def test_it_is_set_read_back_and_switched_on(
    driven: Driven, bench: SimulatedBench, server: ScpiServer
) -> None:
    assert driven(server).set(3150.0, math.sqrt(0.6)) == "3150 Hz, 0.7746 V"
    controls = bench.now().controls
    assert controls["frequency_hz"] == pytest.approx(3150.0)
    assert controls["level_dbu"] == pytest.approx(0.0, abs=1e-4)
    assert controls["oscillator"] is True


def test_what_is_not_asked_for_stays(driven: Driven, bench: SimulatedBench, server: ScpiServer) -> None:
    bench.set({"level_dbu": -20.0})
    source = driven(server)
    assert source.set(100.0, None) == "100 Hz, 0.07746 V"
    assert source.set(None, 0.5) == "100 Hz, 0.5 V"


@pytest.mark.parametrize(
    ("amplitude", "rms_per_number"), [("rms", 1.0), ("peak", 0.70711), ("peak-to-peak", 0.35355)]
)
def test_the_number_is_counted_as_the_bench_file_says(
    driven: Driven, bench: SimulatedBench, server: ScpiServer, amplitude: str, rms_per_number: float
) -> None:
    """A sine: peak = sqrt(2) rms. The far end counts rms, so its control shows the number that was sent."""
    assert driven(server, options={"amplitude": amplitude}).set(1000.0, 0.1) == "1000 Hz, 0.1 V"
    sent_v = DBU.to_base(float(bench.now().controls["level_dbu"]))
    assert sent_v * rms_per_number == pytest.approx(0.1, rel=1e-4)


def test_a_refusal_is_told_in_the_source_s_own_words(
    driven: Driven, bench: SimulatedBench, server: ScpiServer
) -> None:
    source = driven(server)
    with pytest.raises(SourceError, match=r"refused SOUR:FREQ 5000000.*-222.*Data out of range"):
        source.set(5e6, 0.1)
    assert bench.now().controls["oscillator"] is False
    assert source.set(50.0, 0.1) == "50 Hz, 0.1 V"


def test_another_read_back_is_told_and_the_output_stays_off(driven: Driven, bench: SimulatedBench) -> None:
    for server in _served(Stuck(bench)):
        with pytest.raises(SourceError, match=r"generator reads back 900 Hz, 0\.1 V"):
            driven(server).set(1000.0, 0.1)
    assert bench.now().controls["oscillator"] is False


def test_an_output_that_stays_off_is_told(driven: Driven, bench: SimulatedBench) -> None:
    for server in _served(Mute(bench)):
        with pytest.raises(SourceError, match="output is off"):
            driven(server).set(1000.0, 0.1)


def test_it_is_never_set_nor_switched_on_above_what_the_bench_allows(
    driven: Driven, bench: SimulatedBench, server: ScpiServer
) -> None:
    source = driven(server)
    with pytest.raises(SourceError, match=r"2\.5 V is more than the bench file allows"):
        source.set(1000.0, 2.5)
    bench.set({"level_dbu": 20.0})  # as a hand left it: 7.7 V
    with pytest.raises(SourceError, match=r"7\.746 V is more than the bench file allows"):
        source.set(1000.0, None)
    assert bench.now().controls["oscillator"] is False


def test_unplugged_is_told_and_plugged_in_again_it_works(driven: Driven, server: ScpiServer) -> None:
    source = driven(server)
    source.set(1000.0, 0.1)
    server.unplug()
    with pytest.raises(SourceError):
        source.set(2000.0, 0.1)
    server.plug()
    assert source.set(2000.0, 0.1) == "2000 Hz, 0.1 V"


def test_a_line_that_died_meanwhile_is_opened_once_more(driven: Driven, server: ScpiServer) -> None:
    source = driven(server)
    source.set(1000.0, 0.1)
    server.unplug()
    server.plug()
    assert source.set(2000.0, 0.1) == "2000 Hz, 0.1 V"


def test_an_answer_that_comes_too_late_is_no_answer_to_the_next_question(
    driven: Driven, server: ScpiServer
) -> None:
    source = driven(server)
    source.set(1000.0, 0.1)
    server.faults = replace(server.faults, late_s=2.3)
    with pytest.raises(SourceError):
        source.set(2000.0, 0.1)
    server.faults = replace(server.faults, late_s=0.0)
    assert source.set(3000.0, 0.2) == "3000 Hz, 0.2 V"


def test_noise_on_the_line_is_not_taken_for_a_number(driven: Driven, server: ScpiServer) -> None:
    source = driven(server)
    source.set(1000.0, 0.1)
    server.faults = replace(server.faults, noise_bytes=5)
    with pytest.raises(SourceError):
        source.set(2000.0, 0.1)


def test_another_instrument_is_not_set(driven: Driven, bench: SimulatedBench, server: ScpiServer) -> None:
    with pytest.raises(SourceError, match='wants "S-999"'):
        driven(server, identity="S-999").set(1000.0, 0.1)
    assert bench.now().controls["frequency_hz"] == 1000.0
    assert bench.now().controls["oscillator"] is False


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({}, "write the option amplitude"),
        ({"amplitude": "rms", "load": 50}, "no option 'load'"),
        ({"amplitude": "rms", "terminator": "x"}, "no terminator 'x'"),
    ],
)
def test_options_that_do_not_fit_are_told(
    driven: Driven, server: ScpiServer, options: dict[str, object], says: str
) -> None:
    with pytest.raises(SourceError, match=says):
        driven(server, options=options).set(1000.0, 0.1)
