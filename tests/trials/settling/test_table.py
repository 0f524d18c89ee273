"""The command prints a table, quickly if asked for little."""

import pytest

from tests.trials.settling.table import main


def test_the_product_alone(capsys: pytest.CaptureFixture[str]) -> None:
    main(["--ours", "--seeds", "1", "--kind", "first_order", "--kind", "ramp"])
    printed = capsys.readouterr().out
    assert printed.startswith("2 kinds")
    assert "| product |" in printed
    assert "| ramp |" in printed
    assert "clairvoyant" not in printed


def test_all_of_them_side_by_side(capsys: pytest.CaptureFixture[str]) -> None:
    main(["--seeds", "1", "--kind", "ringing"])
    printed = capsys.readouterr().out
    for name in ("product", "clairvoyant with dwell", "never claims", "CUSUM"):
        assert f"| {name} |" in printed
    assert "Beside the best published method" in printed
