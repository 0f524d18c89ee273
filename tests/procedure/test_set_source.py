"""set-source on a bench that may drive its source. Levels are made up; 0 dBu = sqrt(0.6) V."""

import math

import pytest

from meterlog.accuracy import Verdict
from meterlog.procedure import (
    ActionKind,
    Engine,
    IllegalAction,
    ProcedureError,
    SourceSetting,
    load_procedure_text,
)
from tests.procedure.bench import HEAD, Bench

STEP = """
[[step]]
id = "tone"
title = "Tone"
pattern = "set-source"
channel = "output"
target = "0 dBu"
tolerance = "0.5 dB"
frequency = "1 kHz"
level = "-10 dBu"
[[step]]
id = "after"
title = "After"
pattern = "measure"
channel = "output"
settle = "0.1 dB"
"""
DBU_V = math.sqrt(0.6)


def words(bench: Bench) -> str:
    return bench.engine.view().guide.do_now


def wanted(bench: Bench) -> SourceSetting | None:
    return bench.engine.view().guide.source


def test_the_source_s_own_level_is_asked_for_and_the_meter_is_believed() -> None:
    """-10 dBu at the source, 0 dBu at the meter: what lies between is not the step's business."""
    bench = Bench(STEP)
    setting = wanted(bench)
    assert setting == SourceSetting(
        frequency_hz=1000.0, level_v=pytest.approx(DBU_V * 10**-0.5), purpose="Tone"
    )
    bench.act(ActionKind.SOURCE_ASKED, "1000 Hz, 0.2449 V for Tone")
    assert wanted(bench) is None
    assert words(bench) == "Setting the source to 1 kHz and -10 dBu."
    bench.act(ActionKind.SOURCE_SET, "1000 Hz, 0.2449 V")
    bench.run_to(1, output=DBU_V)
    assert [value.verdict for value in bench.settled][:1] == [Verdict.PASS]
    assert bench.engine.place == 1
    again = Engine(bench.engine.procedure)
    assert [one for event in bench.events for one in again.apply(event)] == bench.outcomes


def test_nothing_counts_while_it_is_being_set() -> None:
    bench = Bench(STEP)
    bench.act(ActionKind.SOURCE_ASKED)
    bench.run(6.0, output=DBU_V)
    assert bench.settled == []
    with pytest.raises(IllegalAction, match="the source is being set"):
        bench.press()


def test_outside_the_window_the_hand_is_guided_as_ever() -> None:
    bench = Bench(STEP)
    bench.act(ActionKind.SOURCE_ASKED)
    bench.act(ActionKind.SOURCE_SET, "1000 Hz, 0.2449 V")
    bench.run(2.0, output=DBU_V * 0.5)
    assert words(bench) == "Source at 1 kHz. Bring the level up."
    bench.run_to(1, output=DBU_V)
    assert bench.engine.place == 1


def test_one_that_failed_is_told_and_set_by_hand() -> None:
    bench = Bench(STEP)
    bench.act(ActionKind.SOURCE_ASKED)
    bench.act(ActionKind.SOURCE_FAILED, "it reads back 900 Hz")
    assert words(bench).startswith(
        "The bench could not set the source: it reads back 900 Hz. Set it to 1 kHz and -10 dBu by hand. "
    )
    assert wanted(bench) is None, "it is not asked again and again"
    bench.run_to(1, output=DBU_V)
    assert bench.engine.place == 1


def test_a_bench_that_drives_none_works_by_hand() -> None:
    bench = Bench(STEP)
    bench.run_to(1, output=DBU_V)
    assert bench.engine.place == 1


def test_after_a_pause_it_is_set_anew_and_a_late_answer_is_refused() -> None:
    bench = Bench(STEP)
    bench.act(ActionKind.SOURCE_ASKED)
    bench.act(ActionKind.PAUSE)
    bench.act(ActionKind.RESUME)
    assert wanted(bench) is not None
    with pytest.raises(IllegalAction, match="no source is to be set now"):
        bench.act(ActionKind.SOURCE_SET, "late")


def test_without_a_level_of_the_source_nothing_is_driven() -> None:
    bench = Bench(STEP.replace('level = "-10 dBu"\n', ""))
    assert wanted(bench) is None
    with pytest.raises(IllegalAction, match="no source is to be set now"):
        bench.act(ActionKind.SOURCE_ASKED)


@pytest.mark.parametrize("level", ["1 kHz", "-1 V"])
def test_what_is_no_level_of_a_source_is_refused(level: str) -> None:
    with pytest.raises(ProcedureError, match=r"test\.toml:\d+.*is no level of a source"):
        load_procedure_text(HEAD + STEP.replace("-10 dBu", level), "test.toml")
