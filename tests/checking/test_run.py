"""Runs over real sockets with simulated meters: a reference, a second meter, one that does not answer."""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from meterlog.bench import Bench, SourceEntry, SystemClock, load_bench
from meterlog.checking.errors import CheckError
from meterlog.checking.judged import Judged, Standing
from meterlog.checking.points_file import Point, Points, load_points_text
from meterlog.checking.result import Told
from meterlog.checking.run import run_checks
from meterlog.checking.setting import meter_on, setting_of
from meterlog.records import MeterCheck
from tests.checking.meters import AC_V, DC_V, bench_meter, bench_text

pytestmark = [pytest.mark.wire, pytest.mark.usefixtures("real_drivers")]

POINTS = """
[checks]
title = "Test"
[[reference]]
name = "source"
serial_number = "R-12"
[[point]]
name = "dc"
coupling = "dc"
reference = "source"
value = "10.00006 V"
uncertainty = "50 uV"
k = 2.5
settle = "0.005 %"
dwell = "0.8 s"
[[point]]
name = "ac"
coupling = "ac"
range = "1 V"
frequency = "1 kHz"
reference = "source"
value = "0.7746 V"
uncertainty = "0.05 %"
settle = "0.02 %"
dwell = "0.8 s"
"""
AGAINST = """
[checks]
title = "Test"
[[point]]
name = "dc"
coupling = "dc"
value = "10 V"
against = "second meter dc"
settle = "0.005 %"
dwell = "0.8 s"
patience = "20 s"
"""


class Ready:
    """Everything is connected; what does not settle is left out."""

    def __init__(self) -> None:
        self.asked: list[str] = []
        self.whys: list[str] = []
        self.said: list[str] = []

    def ready(self, point: Point) -> bool:
        self.asked.append(point.name)
        return True

    def again(self, point: Point, why: str) -> bool:
        self.whys.append(why)
        return False

    def say(self, text: str) -> None:
        self.said.append(text)


@contextmanager
def bench_of(folder: Path, *gains: float) -> Iterator[Bench]:
    with ExitStack() as stack:
        addresses = [stack.enter_context(bench_meter(gain)).address for gain in gains]
        (folder / "bench.toml").write_text(bench_text(*addresses))
        yield load_bench(folder / "bench.toml")


def taken(points: Points, bench: Bench, person: Ready, told: Told | None = None) -> list[MeterCheck]:
    settings = [setting_of(point, bench, meter_on(bench, "bench meter")) for point in points.points]
    return list(run_checks(points, settings, person, told=told or Told(), clock=SystemClock()))


def test_against_a_reference(tmp_path: Path) -> None:
    """The simulated meter shows 1.00002 of what there is; 10 V dc may be off by 48 or 41 ppm (the shipped
    class: 0.004 % and 0.0008 % of range for a year, 0.0025 and 0.0006 for 90 days)."""
    points = load_points_text(POINTS, "points.toml")
    person = Ready()
    with bench_of(tmp_path, 1.00002) as bench:
        dc, ac = taken(points, bench, person, Told(23.0, "30 min", "me", "meterlog 0"))
    assert person.asked == ["dc", "ac"]
    assert (dc.serial_number, dc.model, dc.driver) == ("S-001", "6.5-digit meter", "scpi")
    assert (dc.reference, dc.reference_serial, dc.reference_value) == ("source", "R-12", DC_V)
    assert dc.indicated == pytest.approx(DC_V * 1.00002, abs=3 * dc.expanded_uncertainty)
    assert dc.full_scale == 10.0
    assert dc.allowed in (
        pytest.approx(dc.indicated * 25e-6 + 10.0 * 6e-6),
        pytest.approx(dc.indicated * 40e-6 + 10.0 * 8e-6),
    )
    # 50 uV at k = 2.5 is 40 uV at k = 2
    assert Judged(dc).check.error_uncertainty == pytest.approx((40e-6**2 + dc.expanded_uncertainty**2) ** 0.5)
    assert (dc.temperature_c, dc.warm_up, dc.operator, dc.software) == (23.0, "30 min", "me", "meterlog 0")
    assert ac.indicated == pytest.approx(AC_V * 1.00002, rel=2e-4)
    assert ac.full_scale == 1.0
    assert ac.allowed == pytest.approx(ac.indicated * 0.08e-2 + 0.03e-2)
    assert ac.frequency_hz == 1000.0
    assert Judged(ac).standing is Standing.INSIDE


def test_against_a_second_meter(tmp_path: Path) -> None:
    """Both read the same level at once; the second is as sure as its class says: bounds of some 48 ppm, so a
    standard uncertainty of that over the square root of three (JCGM 100:2008, 4.3.7)."""
    points = load_points_text(AGAINST, "points.toml")
    with bench_of(tmp_path, 1.0002, 1.0) as bench:
        (check,) = taken(points, bench, Ready())
    assert check.reference == "second meter"
    assert check.reference_serial == "S-001"
    assert check.reference_value == pytest.approx(DC_V, rel=3e-5)
    assert check.reference_uncertainty == pytest.approx(2.0 * 10.0 * 40e-6 / 3**0.5, rel=0.4)
    assert Judged(check).error == pytest.approx(2e-3, abs=5e-4)
    assert Judged(check).standing is Standing.OUTSIDE


class Source:
    """Stands for the bench's driven source."""

    name = "generator"

    def __init__(self) -> None:
        self.told: list[tuple[float | None, float | None]] = []

    def set(self, frequency_hz: float | None, level_v: float | None) -> str:
        self.told.append((frequency_hz, level_v))
        return "1 kHz, 0.7746 V"


def test_a_driven_point_is_set_and_nobody_is_asked(tmp_path: Path) -> None:
    text = POINTS.replace('name = "ac"', 'name = "ac"\ndrive = true')
    points = load_points_text(text, "points.toml")
    person, source = Ready(), Source()
    with bench_of(tmp_path, 1.0) as bench:
        with pytest.raises(CheckError, match=r"'ac' is to be driven, and the bench file has no \[\[source"):
            setting_of(points.points[1], bench, "bench meter")
        driven = replace(
            bench,
            source=SourceEntry(name="g", driver="scpi", address="TCPIP::192.0.2.9::9::SOCKET", most="2 V"),
        )
        settings = [setting_of(point, driven, "bench meter") for point in points.points[1:]]
        (check,) = run_checks(points, settings, person, told=Told(), clock=SystemClock(), source=source)
    assert check.point == "ac"
    assert source.told == [(1000.0, AC_V)]
    assert person.asked == []
    assert person.said == ["generator: 1 kHz, 0.7746 V"]


def test_a_meter_that_does_not_answer_is_left_out_and_told(tmp_path: Path) -> None:
    text = POINTS.replace('dwell = "0.8 s"', 'dwell = "0.8 s"\npatience = "0.1 s"', 1)
    points = load_points_text(text[: text.index('[[point]]\nname = "ac"')], "points.toml")
    person = Ready()
    (tmp_path / "bench.toml").write_text(bench_text("TCPIP::127.0.0.1::9::SOCKET"))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("meterlog.checking.run.OPENING_S", 0.5)
        assert taken(points, load_bench(tmp_path / "bench.toml"), person) == []
    (why,) = person.whys
    assert "no reading came" in why
    assert "bench meter is lost" in why
    assert person.said, "while it is waited for, not only at the end"
    assert person.said[0].startswith("bench meter is lost, 127.0.0.1 port 9 refuses the connection")
    assert len(set(person.said)) == len(person.said)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (("second meter dc", "nowhere"), "no channel 'nowhere'; there are bench meter dc, second meter dc"),
        (("second meter dc", "bench meter dc"), "is a channel of 'bench meter' itself"),
        (('coupling = "dc"', 'coupling = "ac"\nfrequency = "1 kHz"'), "measures voltage dc"),
        (('dwell = "0.8 s"', "options = { cyles = 1 }"), "point 'dc': .*cyles"),
    ],
)
def test_what_the_bench_does_not_offer(tmp_path: Path, change: tuple[str, str], why: str) -> None:
    (tmp_path / "bench.toml").write_text(
        bench_text("TCPIP::192.0.2.7::9::SOCKET", "TCPIP::192.0.2.8::9::SOCKET")
    )
    bench = load_bench(tmp_path / "bench.toml")
    point = load_points_text(AGAINST.replace(*change), "points.toml").points[0]
    with pytest.raises(CheckError, match=why):
        setting_of(point, bench, "bench meter")


def test_which_meter_is_meant(tmp_path: Path) -> None:
    (tmp_path / "bench.toml").write_text(
        bench_text("TCPIP::192.0.2.7::9::SOCKET", "TCPIP::192.0.2.8::9::SOCKET")
    )
    bench = load_bench(tmp_path / "bench.toml")
    assert meter_on(bench, "second meter") == "second meter"
    with pytest.raises(CheckError, match="several meters on 'Check bench': write --meter with one of 'bench"):
        meter_on(bench, "")
    with pytest.raises(CheckError, match="no meter 'x' on"):
        meter_on(bench, "x")
