"""The table a person sees, on a few trials."""

import tomllib

import pytest

from tests.trials.falling.contest import JUDGED_PER_KIND, TRAINING, trials, tune, tuned, tuned_text
from tests.trials.falling.methods.habits import InARow
from tests.trials.falling.methods.known import KNOWN, Known
from tests.trials.falling.table import main


def test_all_methods_have_a_row(capsys: pytest.CaptureFixture[str]) -> None:
    main(["--seeds", "1"])
    printed = capsys.readouterr().out
    for name in (*(f"| {known}, tuned |" for known in KNOWN), "| meterlog |", "| clairvoyant |"):
        assert name in printed


def test_only_ours_and_one_kind(capsys: pytest.CaptureFixture[str]) -> None:
    main(["--ours", "--seeds", "2", "--kind", "drift"])
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "2 trials, 0 of them reach the target."
    assert [line.split(" | ")[0] for line in lines if line.startswith("| ")] == [
        "| method",
        "| meterlog",
        "| kind",
        "| drift",
    ]


def test_an_unknown_kind_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["--kind", "no such kind"])
    assert "no such kind" in capsys.readouterr().err


def test_the_settings_kept_are_of_the_methods_there_are() -> None:
    kept = tuned()
    assert set(kept) == set(KNOWN)
    for name, settings in kept.items():
        assert settings in list(KNOWN[name].settings())


def test_nothing_is_judged_on_what_was_tuned_on() -> None:
    assert min(TRAINING) > JUDGED_PER_KIND


@pytest.mark.parametrize(
    ("margins", "best"),
    [((-0.5, 0.0, 0.9), 0.0), ((-0.5, 0.9), -0.5), ((0.9, 0.8), 0.8)],
    ids=["least error", "late rather than false", "all of them false"],
)
def test_tuning_takes_the_least_error_that_is_not_too_often_false(
    margins: tuple[float, ...], best: float
) -> None:
    known = Known(InARow, {"readings": (1,), "margin": margins})
    settings, _ = tune(known, list(trials(range(5), ["even turning"])))
    assert settings == {"readings": 1, "margin": best}


def test_what_is_tuned_is_written_as_it_is_read() -> None:
    text = "\n".join(tuned_text(list(trials(range(1), ["even turning"]))))
    assert set(tomllib.loads(text)) == set(KNOWN)
