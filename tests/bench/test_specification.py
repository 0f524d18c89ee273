"""What a meter can do: shipped files are sound and keep to arithmetic, mistakes are named with their line."""

from itertools import pairwise
from pathlib import Path

import pytest

from meterlog.accuracy import Band, InUse
from meterlog.bench import BenchError, load_bench
from meterlog.bench.specification_file import find_specification, load_specification_text
from meterlog.reading import Coupling
from meterlog.shipped import shipped

SHIPPED = shipped("meters")
EXAMPLE = Path("config/bench/example.toml")
SMALL = """[specification]
title = "Small"
reading_period = "0.5 s"

[[function]]
function = "voltage"
coupling = "ac"
lowest = "1 %"

[[function.band]]
low = "40 Hz"
high = "1 kHz"

[[function.range]]
full_scale = "2 V"
count = "1 mV"

[[function.range]]
full_scale = "20 V"
count = "10 mV"
highest = "24 V"
"""


def test_the_classes_asked_for_are_there() -> None:
    assert [path.stem for path in SHIPPED] == [
        "bench-5.5-digits",
        "bench-6.5-digits",
        "counter-6-digits",
        "handheld-2000",
        "handheld-20000",
        "handheld-4000",
        "handheld-50000",
        "handheld-6000",
    ]


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_shipped_ranges_go_up_and_keep_to_the_counts_they_are_named_by(path: Path) -> None:
    """n counts is arithmetic: full scale over one count. The last range ends where the terminals do."""
    named = path.stem.split("-")[1]
    counts = int(named) if path.stem.startswith("handheld") else 10 ** int(named[0])
    for capability in load_specification_text(path.read_text(), str(path)).capabilities:
        for finer, coarser in pairwise(capability.ranges):
            assert finer.highest < coarser.highest
            assert finer.count <= coarser.count
        for one in capability.ranges[:-1]:
            assert one.full_scale / one.count == pytest.approx(counts)


def small(folder: Path, text: str = SMALL) -> Path:
    path = folder / "small.toml"
    path.write_text(text)
    return path


def in_use(folder: Path, **more: float) -> InUse:
    specification = load_specification_text(small(folder).read_text(), "small.toml")
    return InUse("m", specification, "voltage", Coupling.AC, **more)


def test_a_range_shows_up_to_one_count_below_its_name(tmp_path: Path) -> None:
    meter = in_use(tmp_path)
    assert meter.range_for([1.999]).count == 1e-3  # type: ignore[union-attr]
    assert meter.range_for([2.0]).count == 1e-2  # type: ignore[union-attr]
    assert meter.range_for([-24.0, 1.0]).count == 1e-2  # type: ignore[union-attr]
    assert meter.range_for([24.1]) is None


def test_the_range_of_the_bench_file_counts(tmp_path: Path) -> None:
    meter = in_use(tmp_path, range_max=20.0)
    assert meter.range_for([0.1]).count == 1e-2  # type: ignore[union-attr]
    assert in_use(tmp_path, range_max=2.0).range_for([5.0]) is None


def test_a_filter_narrows_the_band(tmp_path: Path) -> None:
    assert in_use(tmp_path, lowest_hz=200.0).bands() == (Band(200.0, 1000.0),)
    assert not in_use(tmp_path, lowest_hz=200.0).bands()[0].holds(100.0)


@pytest.mark.parametrize(
    ("old", "new", "line", "says"),
    [
        ('function = "voltage"', 'function = "voltge"', 5, "no function 'voltge'"),
        ('coupling = "ac"\n', "", 5, "have a coupling"),
        ('low = "40 Hz"', 'low = "4 kHz"', 10, "low comes below high"),
        ('low = "40 Hz"', 'low = "40 V"', 11, "such as 20 Hz"),
        ('count = "1 mV"', 'count = "3 V"', 14, "is no digit of a range of 2 V"),
        ('full_scale = "2 V"', 'full_scale = "2 A"', 5, "is none of voltage"),
        ('lowest = "1 %"', 'lowest = "1 V"', 8, "no part of full scale"),
        ('title = "Small"', 'name = "Small"', 2, "misspelling"),
        ('reading_period = "0.5 s"', 'reading_period = "0 s"', 3, "must be above 0"),
        ('count = "10 mV"\n', "", 18, "missing"),
        ("[[function.band]]", "[[function.band", 10, "no valid TOML"),
    ],
)
def test_a_mistake_is_named_with_its_line(tmp_path: Path, old: str, new: str, line: int, says: str) -> None:
    path = small(tmp_path, SMALL.replace(old, new, 1))
    with pytest.raises(BenchError) as caught:
        load_specification_text(path.read_text(), str(path))
    assert any(one.startswith(f"{path}:{line}: ") and says in one for one in str(caught.value).splitlines())


def bench_with(folder: Path, specification: str) -> Path:
    path = folder / "bench.toml"
    key = f'driver = "scpi"\nspecification = "{specification}"'
    path.write_text(EXAMPLE.read_text().replace('driver = "scpi"', key))
    return path


def test_a_bench_names_a_shipped_file_or_one_beside_it(tmp_path: Path) -> None:
    small(tmp_path)
    by_path = load_bench(bench_with(tmp_path, "small.toml")).in_use()
    assert by_path["output"].specification.title == "Small"
    assert (by_path["output"].range_max, by_path["output"].lowest_hz) == (10.0, 20.0)
    assert list(by_path) == ["output"], "of the other meter nothing is known"
    assert load_bench(bench_with(tmp_path, "handheld-6000")).in_use()["output"].specification == (
        find_specification("handheld-6000", tmp_path).specification
    )


@pytest.mark.parametrize(
    ("name", "says"), [("handheld-7", "handheld-6000"), ("absent.toml", "cannot be read"), ("", "")]
)
def test_a_bench_that_names_no_such_file(tmp_path: Path, name: str, says: str) -> None:
    path = bench_with(tmp_path, name)
    if not name:
        assert load_bench(path).in_use() == {}
        return
    with pytest.raises(BenchError, match=says) as caught:
        load_bench(path)
    line = path.read_text().splitlines().index(f'specification = "{name}"') + 1
    assert str(caught.value).startswith(f"{path}:{line}: meter.1.specification: ")
