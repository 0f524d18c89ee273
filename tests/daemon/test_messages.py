"""The stream's JSON: every number with its text, and nothing in it that a page cannot read."""

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.daemon.as_json import dumped, plain
from meterlog.daemon.messages import channel_json, guide_json, reading_json
from meterlog.daemon.scales import Scales
from meterlog.procedure import Direction, Guide
from meterlog.quantity import DBU, DBV, MILLIVOLT, OHM, VOLT, Unit
from meterlog.reading import HOLD, LOW_BATTERY
from tests.daemon.desk import NS, procedure, reading

ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text() | st.binary(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=20,
)


@given(ANYTHING)
def test_every_record_becomes_json_that_a_strict_reader_takes(value: Any) -> None:
    """RFC 8259 section 6: infinities and NaN are not permitted."""

    def refuse(name: str) -> None:
        raise AssertionError(name)

    json.loads(dumped(value), parse_constant=refuse)


def test_what_is_no_number_for_json_is_null() -> None:
    assert plain([math.inf, -math.inf, math.nan, 1.5]) == [None, None, None, 1.5]


def test_a_stranger_is_refused_and_not_guessed() -> None:
    with pytest.raises(TypeError, match="object"):
        plain({"a": object()})


def test_a_guide_has_texts_on_the_shown_scale() -> None:
    """+4 dBu = 1.228 V and -0.1 dB of it 1.214 V; 0 dBu = sqrt(0.6) V as in ITU-R V.574."""
    volts = math.sqrt(0.6)
    guide = Guide(
        do_now="",
        channel="output",
        present=volts * 10 ** (3.5 / 20),
        target=volts * 10 ** (4 / 20),
        low=volts * 10 ** (3.9 / 20),
        high=volts * 10 ** (4.1 / 20),
        distance=-0.5,
        distance_unit="dB",
        direction=Direction.UP,
    )
    texts = guide_json(guide, DBU, 1e-3)
    assert texts["present_text"] == "+3.50 dBu"
    assert texts["target_text"] == "+4.00 dBu"
    assert (texts["low_text"], texts["high_text"]) == ("+3.90 dBu", "+4.10 dBu")
    assert texts["distance_text"] == "-0.50 dB"


@pytest.mark.parametrize(
    ("distance", "unit", "text"),
    [(-1.5, "mV", "-1.5 mV"), (1.5, "mV", "+1.5 mV"), (-0.0015, "V", "-0.0015 V"), (2.25, "%", "+2.2 %")],
)
def test_a_distance_is_told_a_tenth_as_fine_as_half_the_window(distance: float, unit: str, text: str) -> None:
    guide = Guide(do_now="", target=0.2, low=0.198, high=0.202, distance=distance, distance_unit=unit)
    assert guide_json(guide, MILLIVOLT, 0.0)["distance_text"] == text


def test_a_limit_does_not_read_the_same_as_where_passing_ends() -> None:
    """5 % about 1 V, a guard band of 2 mV: a tenth of half the window would be 5 mV."""
    guide = Guide(do_now="", low=0.95, high=1.05, accept_low=0.952, accept_high=1.048)
    told = guide_json(guide, VOLT, 0.0)
    assert [told[f"{name}_text"] for name in ("low", "accept_low", "accept_high", "high")] == [
        "0.950 V",
        "0.952 V",
        "1.048 V",
        "1.050 V",
    ]


@pytest.mark.parametrize("distance", [None, math.inf, -math.inf])
def test_no_distance_no_text(distance: float | None) -> None:
    told = guide_json(Guide(do_now="", distance=distance, distance_unit="dB"), DBU, 0.0)
    assert (told["distance"], told["distance_text"]) == (None, "")


def test_a_channel_says_what_it_shows_how_old_it_is_and_what_is_odd_about_it() -> None:
    shown = reading(10 * NS, 0.1, flags=frozenset({HOLD, LOW_BATTERY}))
    told = channel_json("output", shown, Scales({"output": MILLIVOLT}), 12 * NS)
    assert told["text"] == "100.0 mV"
    assert told["unit_text"] == "mV"
    assert told["age_s"] == 2.0
    assert told["low_battery"]
    assert plain(told["flags"]) == [HOLD]


def test_a_level_that_is_not_the_displays_says_so() -> None:
    """1 dB more than 100 mV is 112.2 mV."""
    shown = reading(10 * NS, 0.1)
    told = channel_json(
        "output", shown, Scales({"output": MILLIVOLT}), 12 * NS, lambda one: replace(one, value=0.1122018)
    )
    assert told["text"] == "112.2 mV"
    assert told["correction_text"] == "+1.00 dB on the display's 100.0 mV"
    assert channel_json("output", shown, Scales(), NS, lambda one: one)["correction_text"] == ""


def test_a_channel_without_a_number_has_a_state_and_no_text() -> None:
    overload = channel_json("output", reading(NS, None), Scales(), NS)
    assert (overload["value"], overload["text"], overload["state"]) == (None, "", "overload")
    nothing = channel_json("output", None, Scales(), NS)
    assert (nothing["value"], nothing["state"], nothing["age_s"]) == (None, None, None)


def test_the_procedure_decides_the_scale_then_the_bench_then_the_unit(tmp_path: Path) -> None:
    bench = {"output": DBV, "spare": DBV}
    both = Scales(bench, procedure())
    assert both.of("output", Unit.VOLT) == DBU
    assert both.of("spare", Unit.VOLT) == DBV
    assert both.of("other", Unit.VOLT) == VOLT
    assert both.of("output", Unit.OHM) == OHM, "a meter on another function is not shown in dBu"


def test_silence_at_the_input_is_no_number_on_a_level_scale() -> None:
    told = json.loads(dumped(reading_json(reading(NS, 0.0), None, Scales({"output": DBU}))))
    assert told["shown"] is None
    assert told["value"] == 0.0
