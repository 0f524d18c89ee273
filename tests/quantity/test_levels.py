"""Level arithmetic against published tables; each data file says at its head where its figures come from."""

import csv
import math
import tomllib
from pathlib import Path
from typing import Any

import pytest

from meterlog.quantity import (
    DBU,
    DBV,
    VOLT,
    Scale,
    Span,
    dbm,
    difference_db,
    parse_quantity,
    ratio_from_db,
    show_number,
)

LEVELS = Path(__file__).parents[1] / "reference" / "levels"
CONSTANTS: dict[str, Any] = tomllib.loads((LEVELS / "level_constants.toml").read_text("utf-8"))


def rows(name: str) -> list[dict[str, str]]:
    lines = (LEVELS / name).read_text("utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def decimals(text: str) -> int:
    return len(text.partition(".")[2])


def test_every_table_has_its_rows() -> None:
    counts = {
        name: len(rows(name)) for name in ("dbu_table.csv", "noise_addition.csv", "waveform_response.csv")
    }
    assert counts == {"dbu_table.csv": 45, "noise_addition.csv": 10, "waveform_response.csv": 11}


@pytest.mark.parametrize("row", rows("dbu_table.csv"), ids=lambda row: f"{row['dbu']} dBu")
def test_dbu_table(row: dict[str, str]) -> None:
    volts = parse_quantity(f"{row['dbu']} dBu").base
    assert volts == pytest.approx(float(row["volts_exact"]), rel=1e-8)
    assert DBV.from_base(volts) == pytest.approx(float(row["dbv_exact"]), abs=1e-6)
    assert show_number(volts, VOLT, 1e-4) == row["volts_printed"]
    assert DBU.from_base(float(row["volts_exact"])) == pytest.approx(float(row["dbu"]), abs=1e-7)


@pytest.mark.parametrize("row", rows("noise_addition.csv"), ids=lambda row: f"{row['signal_to_noise_db']} dB")
def test_noise_adds_as_power(row: dict[str, str]) -> None:
    reading = math.hypot(1.0, ratio_from_db(-float(row["signal_to_noise_db"])))
    assert reading == pytest.approx(float(row["reading_over_signal"]), abs=1e-9)
    assert difference_db(reading, 1.0) == pytest.approx(float(row["error_db"]), abs=1e-6)
    assert Span(0.0, "%").deviation(reading, 1.0) == pytest.approx(float(row["error_percent"]), abs=1e-6)


@pytest.mark.parametrize("row", rows("waveform_response.csv"), ids=lambda row: row["waveform"])
def test_waveform_error_of_an_average_responding_meter(row: dict[str, str]) -> None:
    ratio, reading, true = (
        float(row[column]) for column in ("reading_over_ac_rms", "average_responding_reading", "ac_rms")
    )
    # Four decimals leave each figure, and so the dB, this uncertain.
    rounding_db = 5e-5 + 8.7 * 5e-5 / min(ratio, reading, true)
    assert difference_db(ratio, 1.0) == pytest.approx(float(row["error_db"]), abs=rounding_db)
    assert difference_db(reading, true) == pytest.approx(float(row["error_db"]), abs=2.0 * rounding_db)


def test_reference_of_dbu() -> None:
    dbu = CONSTANTS["dbu"]
    assert parse_quantity("0 dBu").base == math.sqrt(0.6)
    assert parse_quantity("0 dBu").base == pytest.approx(dbu["reference_volt_exact"], abs=1e-12)
    # ITU-R V.574 rounds to 0.775 V; meterlog keeps 1 mW in 600 ohm.
    assert DBU.from_base(dbu["reference_volt_rounded"]) == pytest.approx(
        dbu["error_db_if_0_775_is_used"], abs=1e-6
    )


def test_reference_of_dbv() -> None:
    assert DBV.to_base(0.0) == CONSTANTS["dbv"]["reference_volt"]
    gap = CONSTANTS["dbv"]["dbu_minus_dbv"]
    assert DBU.from_base(1.0) - DBV.from_base(1.0) == pytest.approx(gap, abs=1e-9)


COMMON = CONSTANTS["common"]


@pytest.mark.parametrize(
    ("text", "scale", "name"),
    [
        ("+4 dBu", VOLT, "plus_4_dbu"),
        ("-10 dBV", VOLT, "minus_10_dbv"),
        ("-10 dBV", DBU, "minus_10_dbv_in_dbu"),
        ("6 V", DBV, "six_volts_in_dbv"),
        ("6 V", DBU, "six_volts_in_dbu"),
    ],
)
def test_common_conversions(text: str, scale: Scale, name: str) -> None:
    shown, printed = scale.from_base(parse_quantity(text).base), COMMON[f"{name}_printed"]
    assert shown == pytest.approx(COMMON[name], abs=1e-6)
    assert round(shown, decimals(str(printed))) == printed


def test_gap_between_the_two_usual_line_levels() -> None:
    gap = difference_db(parse_quantity("+4 dBu").base, parse_quantity("-10 dBV").base)
    assert gap == pytest.approx(COMMON["gap_plus_4_dbu_to_minus_10_dbv"], abs=1e-6)
    assert round(gap, 2) == COMMON["gap_printed"]
    assert parse_quantity("+24 dBu").base == pytest.approx(COMMON["plus_24_dbu"], abs=1e-8)


def test_dbm_in_600_ohm_is_dbu_and_any_load_takes_one_milliwatt() -> None:
    assert dbm(600.0).zero == DBU.zero
    for ohms in (50.0, 75.0, 150.0, 600.0):
        volts = dbm(ohms).to_base(0.0)
        assert volts**2 / ohms == pytest.approx(CONSTANTS["dbm"]["reference_watt"], rel=1e-12)


def test_ratios() -> None:
    table = CONSTANTS["ratios_db"]
    assert difference_db(2.0, 1.0) == pytest.approx(table["voltage_ratio_2"], abs=1e-9)
    assert difference_db(math.sqrt(2.0), 1.0) == pytest.approx(table["power_ratio_2"], abs=1e-9)
    for fall in (3, 6, 10, 20):
        assert ratio_from_db(-fall) == pytest.approx(table[f"back_off_{fall}_db_voltage_factor"], abs=1e-9)


def test_line_up_levels() -> None:
    ebu, smpte = CONSTANTS["line_up"]["ebu_r68"], CONSTANTS["line_up"]["smpte_rp_155"]
    full = f"0 dBFS = +{ebu['full_scale_dbu_when_alignment_is_0_dbu']} dBu"
    alignment = parse_quantity(f"{ebu['alignment_dbfs']} dBFS ({full})")
    assert DBU.from_base(alignment.base) == pytest.approx(0.0, abs=1e-12)
    loudest = parse_quantity(f"{ebu['permitted_maximum_dbfs']} dBFS ({full})")
    permitted = CONSTANTS["line_up"]["itu_r_bs_645"]["permitted_maximum_dbu0s"]
    assert difference_db(loudest.base, alignment.base) == pytest.approx(permitted, abs=1e-12)
    full = f"0 dBFS = +{smpte['full_scale_dbu_when_reference_is_plus_4_dbu']} dBu"
    reference = parse_quantity(f"{smpte['reference_dbfs']} dBFS ({full})")
    assert DBU.from_base(reference.base) == pytest.approx(4.0, abs=1e-12)


def test_zero_of_a_vu_meter() -> None:
    zero = CONSTANTS["line_up"]["vu"]["zero_vu_dbu_common"]
    quantity = parse_quantity(f"0 VU (0 VU = +{zero} dBu)")
    assert quantity.base == parse_quantity(f"+{zero} dBu").base
    assert round(quantity.base, 2) == 1.23  # IEC 60268-17
