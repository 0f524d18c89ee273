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
from meterlog.simulate.scpi_instrument import Acts, Refusal
from meterlog.simulate.scpi_server import ScpiServer
from meterlog.simulate.scpi_source import ScpiSource
from meterlog.simulate.scpi_words import Command

pytestmark = pytest.mark.wire

ACROSS = "; its level is meant across high impedance"


class Stuck(ScpiSource):
    """Takes every frequency and stays at 900 Hz."""

    def _commands(self) -> Acts:
        return {**super()._commands(), "[SOURce:]FREQuency[:CW]?": lambda _: "+9.0E+02"}


class Clipping(ScpiSource):
    """Gives 1 V at most, and says so in its error queue."""

    def _set_level(self, shown: float, command: Command) -> None:
        if shown > 1.0:
            self._queue(Refusal(-222, "value clipped to upper limit"))
        super()._set_level(min(shown, 1.0), command)


class Mute(ScpiSource):
    """Its output does not come on."""

    def _commands(self) -> Acts:
        return {**super()._commands(), "OUTPut[:STATe]": lambda _: None}


@pytest.fixture
def bench() -> SimulatedBench:
    return SimulatedBench(Phono(), RunningClock())


@pytest.fixture
def source(bench: SimulatedBench) -> ScpiSource:
    return ScpiSource(bench)


@pytest.fixture
def server(source: ScpiSource) -> Iterator[ScpiServer]:
    yield from _served(source)


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
    assert driven(server).set(3150.0, math.sqrt(0.6)) == f"3150 Hz, 0.7746 V{ACROSS}"
    controls = bench.now().controls
    assert controls["frequency_hz"] == pytest.approx(3150.0)
    assert controls["level_dbu"] == pytest.approx(0.0, abs=1e-4)
    assert controls["oscillator"] is True


def test_what_is_not_asked_for_stays(driven: Driven, bench: SimulatedBench, server: ScpiServer) -> None:
    bench.set({"level_dbu": -20.0})
    source = driven(server)
    assert source.set(100.0, None) == f"100 Hz, 0.07746 V{ACROSS}"
    assert source.set(None, 0.5) == f"100 Hz, 0.5 V{ACROSS}"


@pytest.mark.parametrize(
    ("amplitude", "rms_per_number"), [("rms", 1.0), ("peak", 0.70711), ("peak-to-peak", 0.35355)]
)
def test_the_number_is_counted_as_the_bench_file_says(
    driven: Driven, bench: SimulatedBench, server: ScpiServer, amplitude: str, rms_per_number: float
) -> None:
    """A sine: peak = sqrt(2) rms. The far end counts rms, so its control shows the number that was sent."""
    assert driven(server, options={"amplitude": amplitude}).set(1000.0, 0.1) == f"1000 Hz, 0.1 V{ACROSS}"
    sent_v = DBU.to_base(float(bench.now().controls["level_dbu"]))
    assert sent_v * rms_per_number == pytest.approx(0.1, rel=1e-4)


@pytest.mark.parametrize("unit", ["VRMS", "VPP"])
def test_a_source_may_be_asked_what_it_counts(
    driven: Driven, bench: SimulatedBench, source: ScpiSource, server: ScpiServer, unit: str
) -> None:
    source.answer(f"VOLT:UNIT {unit}")
    assert driven(server, options={"amplitude": "auto"}).set(1000.0, 0.1) == f"1000 Hz, 0.1 V{ACROSS}"
    assert DBU.to_base(float(bench.now().controls["level_dbu"])) == pytest.approx(0.1, rel=1e-4)


def test_dbm_across_50_ohm_and_all_at_once(
    driven: Driven, bench: SimulatedBench, source: ScpiSource, server: ScpiServer
) -> None:
    """0 dBm in 50 ohm are 0.2236 V; the open voltage of a 50 ohm source is twice that."""
    source.answer("OUTP:LOAD 50;:VOLT:UNIT DBM")
    told = driven(server, dialect="apply", options={"amplitude": "auto"}).set(1000.0, 0.2236)
    assert told == "1000 Hz, 0.2236 V; its level is meant across 50 ohm"
    assert float(source.answer("VOLT?") or 1.0) == pytest.approx(0.0, abs=1e-3)
    assert DBU.to_base(float(bench.now().controls["level_dbu"])) == pytest.approx(0.4472, rel=1e-3)
    assert bench.now().controls["oscillator"] is True


def test_another_load_than_the_bench_file_s_is_refused_and_not_changed(
    driven: Driven, bench: SimulatedBench, source: ScpiSource, server: ScpiServer
) -> None:
    source.answer("OUTP:LOAD 50")
    with pytest.raises(SourceError, match=r"meant across 50 ohm, the bench file's across high impedance"):
        driven(server, options={"amplitude": "rms", "load": "high impedance"}).set(1000.0, 0.1)
    assert float(source.answer("OUTP:LOAD?") or 0) == 50.0
    assert bench.now().controls["oscillator"] is False


def test_an_offset_is_refused_and_not_changed(
    driven: Driven, bench: SimulatedBench, source: ScpiSource, server: ScpiServer
) -> None:
    source.answer("VOLT:OFFS 0.5")
    with pytest.raises(SourceError, match=r"has an offset of 0\.5 V: set it to 0 V"):
        driven(server).set(1000.0, 0.1)
    assert float(source.answer("VOLT:OFFS?") or 0) == 0.5
    assert bench.now().controls["oscillator"] is False


def test_a_refusal_is_told_in_the_source_s_own_words(
    driven: Driven, bench: SimulatedBench, server: ScpiServer
) -> None:
    source = driven(server)
    with pytest.raises(SourceError, match=r"1000 Hz, 0\.1 V; to SOUR:FREQ 5000000 .* -222 Data out of range"):
        source.set(5e6, 0.1)
    assert bench.now().controls["oscillator"] is False
    assert source.set(50.0, 0.1) == f"50 Hz, 0.1 V{ACROSS}"


def test_another_read_back_is_told_and_the_output_stays_off(driven: Driven, bench: SimulatedBench) -> None:
    for server in _served(Stuck(bench)):
        with pytest.raises(SourceError, match=r"generator reads back 900 Hz, 0\.1 V"):
            driven(server).set(1000.0, 0.1)
    assert bench.now().controls["oscillator"] is False


def test_what_is_clipped_is_told_and_counts_as_it_is_read_back(driven: Driven, bench: SimulatedBench) -> None:
    """1.005 V becomes 1 V, near enough; 1.5 V does not, and the output stays off."""
    said = r"to SOUR:VOLT 1\.5 the source said -222 Data out of range \(value clipped to upper limit\)"
    for server in _served(Clipping(bench)):
        source = driven(server)
        with pytest.raises(SourceError, match=rf"generator reads back 1000 Hz, 1 V; {said}"):
            source.set(1000.0, 1.5)
        assert bench.now().controls["oscillator"] is False
        assert source.set(1000.0, 1.005).startswith("1000 Hz, 1 V; to SOUR:VOLT 1.005 the source said -222")
        assert bench.now().controls["oscillator"] is True


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
    assert source.set(2000.0, 0.1) == f"2000 Hz, 0.1 V{ACROSS}"


def test_a_line_that_died_meanwhile_is_opened_once_more(driven: Driven, server: ScpiServer) -> None:
    source = driven(server)
    source.set(1000.0, 0.1)
    server.unplug()
    server.plug()
    assert source.set(2000.0, 0.1) == f"2000 Hz, 0.1 V{ACROSS}"


def test_an_answer_that_comes_too_late_is_no_answer_to_the_next_question(
    driven: Driven, server: ScpiServer
) -> None:
    source = driven(server)
    source.set(1000.0, 0.1)
    server.faults = replace(server.faults, late_s=2.3)
    with pytest.raises(SourceError):
        source.set(2000.0, 0.1)
    server.faults = replace(server.faults, late_s=0.0)
    assert source.set(3000.0, 0.2) == f"3000 Hz, 0.2 V{ACROSS}"


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
        ({"amplitude": "rms", "impedance": 50}, "no option 'impedance'"),
        ({"amplitude": "rms", "load": "none"}, 'write a number of ohms, or "high impedance"'),
        ({"amplitude": "rms", "load": 0}, 'write a number of ohms, or "high impedance"'),
        ({"amplitude": "rms", "terminator": "x"}, "no terminator 'x'"),
    ],
)
def test_options_that_do_not_fit_are_told(
    driven: Driven, server: ScpiServer, options: dict[str, object], says: str
) -> None:
    with pytest.raises(SourceError, match=says):
        driven(server, options=options).set(1000.0, 0.1)
