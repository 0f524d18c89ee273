"""What a report takes from the bench file kept with a session."""

from meterlog.quantity import DBU, VOLT, Unit
from meterlog.report.bench_text import read_bench_text
from tests.report.story import BENCH, Story


def test_name_references_scales_and_meters() -> None:
    bench = read_bench_text(BENCH)
    assert bench.name == "Bench by the window"
    assert str(bench.references.vu) == "+4 dBu"
    assert bench.references.dbm_ohm == 600.0
    assert bench.shows["panel"].symbol == "mV"
    assert bench.meters == {"output": "bench meter", "panel": "bench meter"}


def test_a_bench_that_states_nothing_is_a_bench_all_the_same() -> None:
    bench = read_bench_text("")
    assert (bench.name, bench.shows, bench.references.vu) == ("", {}, None)


def test_the_procedure_decides_what_a_channel_is_shown_in_then_the_bench() -> None:
    session = Story().session()
    assert session.channel_scale("output", Unit.VOLT) is DBU
    assert session.channel_scale("panel", Unit.VOLT).symbol == "mV"


def test_a_channel_that_neither_knows_or_that_gives_another_unit_is_shown_in_its_base_unit() -> None:
    session = Story().session()
    assert session.channel_scale("elsewhere", Unit.VOLT) is VOLT
    assert session.channel_scale("output", Unit.OHM).symbol == "ohm"
