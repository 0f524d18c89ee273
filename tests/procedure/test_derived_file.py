"""What is wrong with a `derived` step, said with its field."""

import pytest

from meterlog.procedure import load_procedure_text
from tests.procedure.bench import HEAD
from tests.procedure.test_derived import derived, manual
from tests.procedure.test_load import problems

TWO = manual("out", "V", "1 mV") + manual("in", "V", "1 mV")


@pytest.mark.parametrize(
    ("kind", "fields", "field", "says"),
    [
        ("current", {"of": "out"}, "step.3", "give one of"),
        ("current", {"of": "out", "resistor": "1 ohm"}, "step.3", "resistor_tolerance"),
        ("current", {"of": "out", "against": "in"}, "step.3", "of V and V is none: it is of V and ohm"),
        ("gain", {"of": "out", "resistor": "1 ohm", "resistor_tolerance": "1 %"}, "step.3", "no `resistor`"),
        ("gain", {"of": "out", "against": "out"}, "step.3", "one and the same"),
        ("gain", {"against": "out"}, "step.3", "`of` or `channel`"),
        ("gain", {"of": "out", "against": "tone"}, "step.3.against", "no step 'tone' comes before"),
        ("gain", {"of": "out", "against": "in", "show": "mV"}, "step.3.show", "comes to a ratio, not to mV"),
        ("gain", {"of": "out", "nominal": "1 kHz"}, "step.3", "of V and Hz is none"),
        ("gain", {"channel": "output", "against": "in"}, "step.3", "goes with `settle`"),
        ("gain", {"of": "out", "against": "in", "target": "3 dB"}, "step.3", "belong together"),
        ("difference", {"of": "out", "against": "in"}, "step.3", "say with `show`"),
        ("cents", {"of": "out", "against": "in"}, "step.3", "of V and V is none: it is of Hz and Hz"),
        (
            "cents",
            {"of": "out", "against": "in", "volts_per_octave": "0 V"},
            "step.3.volts_per_octave",
            "above 0",
        ),
        (
            "current",
            {"of": "out", "resistor": "1 ohm", "resistor_tolerance": "1 V"},
            "step.3.resistor_tolerance",
            "does not fit what is in ohm",
        ),
        (
            "current",
            {
                "of": "out",
                "resistor": "1 ohm",
                "resistor_tolerance": "1 %",
                "target": "1 V",
                "tolerance": "1 V",
            },
            "step.3.target",
            "no level of what is in A",
        ),
    ],
)
def test_what_is_wrong_in_the_file_is_said(kind: str, fields: dict[str, str], field: str, says: str) -> None:
    found = problems(TWO + derived(kind, **fields))
    assert [one for one in found if one[1] == field and says in one[2]], found


@pytest.mark.parametrize(
    ("source", "says"),
    [
        ('{step = "out", role = "lit"}', "no role 'lit'"),
        ('{step = "out", condition = "low"}', "which condition of step 'out'"),
    ],
)
def test_a_source_that_is_not_there_is_said(source: str, says: str) -> None:
    step = derived("gain", against="in").replace("kind", f"of = {source}\nkind")
    assert says in problems(TWO + step)[0][2]


TABLE = """
[[step]]
id = "curve"
title = "Curve"
pattern = "table"
channel = "output"
tolerance = "0.5 dB"
[[step.row]]
at = "100 Hz"
[[step.row]]
at = "1 kHz"
name = "middle"
"""


@pytest.mark.parametrize("row", ["100 Hz", "middle"])
def test_a_row_of_a_table_is_named_by_its_label(row: str) -> None:
    of = f'{{step = "curve", condition = "{row}"}}'
    procedure = load_procedure_text(HEAD + TABLE + manual("in", "V", "1 mV") + ratio(of), "p.toml")
    assert [source.condition for source in procedure.step("ratio").sources] == [row, ""]


@pytest.mark.parametrize("of", ['"curve"', '{step = "curve", condition = "1 kHz"}'])
def test_a_table_as_a_whole_or_a_row_that_it_has_not_is_no_value(of: str) -> None:
    found = problems(TABLE + manual("in", "V", "1 mV") + ratio(of))
    assert ["say which condition of step 'curve': '100 Hz', 'middle'" in one[2] for one in found] == [True]


def ratio(of: str) -> str:
    return f"""
[[step]]
id = "ratio"
title = "Ratio"
pattern = "derived"
kind = "gain"
of = {of}
against = "in"
"""
