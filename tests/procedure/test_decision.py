"""Decision rules as a procedure's head writes them; the tables are those of tests/reference/conformity."""

import pytest

from meterlog.accuracy.guard_band import ByRatio
from meterlog.procedure import ProcedureError, load_procedure_text
from meterlog.procedure.model import Procedure
from tests.accuracy.test_decision import RULES_FILE, cases, limits
from tests.procedure.bench import HEAD
from tests.procedure.test_how_sure import MEASURE

WRITTEN = {
    "simple": 'decision = "simple"',
    "guard_u": 'decision = "guard band"',
    "guard_0_83u": 'decision = "guard band"\nguard_band = "0.83 U"',
    "non_binary": 'decision = "four answers"',
}


def ruled(lines: str) -> Procedure:
    head = HEAD.replace('revision = "1"', f'revision = "1"\n{lines}')
    return load_procedure_text(head + MEASURE, "p.toml")


@pytest.mark.parametrize("column", WRITTEN)
@pytest.mark.parametrize("row", cases(), ids=lambda row: row["case"])
def test_each_case_under_each_rule_that_can_be_written(row: dict[str, str], column: str) -> None:
    expanded = float(row["expanded_uncertainty_k2"])
    found = ruled(WRITTEN[column]).rule.decide(float(row["measured"]), *limits(row), expanded / 2, expanded)
    assert found == row[column]


@pytest.mark.parametrize("w_over_u", [one["w_over_u"] for one in RULES_FILE["ilac_g8_2019"]["rules"]])
def test_every_row_of_ilacs_table_can_be_written(w_over_u: float) -> None:
    procedure = ruled(f'decision = "guard band"\nguard_band = "{w_over_u:g} U"')
    assert procedure.rule.acceptance(-1.0, 1.0, 0.05, 0.1).high == pytest.approx(1.0 - 0.1 * w_over_u)
    assert procedure.head.rule_name == f"guard band, {w_over_u:g} U"


@pytest.mark.parametrize("name", ByRatio)
def test_the_published_bands_can_be_written(name: ByRatio) -> None:
    procedure = ruled(f'decision = "guard band"\nguard_band = "{name}"')
    assert procedure.rule.band is name
    assert procedure.head.rule_name == f"guard band, {name}"


def test_what_was_written_before_means_what_it_meant() -> None:
    assert ruled(WRITTEN["guard_u"]).rule == ruled('decision = "guard band"\nguard_band = "1 U"').rule
    assert ruled("").head.rule_name == "simple"


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ('guard_band = "1 U"', "p.toml:5: procedure.guard_band: it is how wide one is"),
        ('decision = "four answers"\nguard_band = "1 U"', 'write decision = "guard band", or leave it out'),
        (
            'decision = "guard band"\nguard_band = "1 U"\nfalse_accept = "2 %"',
            "p.toml:7: procedure.false_accept",
        ),
        ('decision = "guard band"\nguard_band = "1 U"\nfalse_accept = "2 %"', "leave one of them out"),
        ('decision = "guard band"\nguard_band = "9 U"', "'9 U' is no guard band; write how many"),
        ('decision = "guard band"\nguard_band = 1', 'write a text, for example "0.83 U"'),
        ('decision = "guard band"\nfalse_accept = "50 %"', "above 0 and below 50"),
        ('decision = "four answers"\nfalse_accept = "2 %"', "it is the risk of a guard band"),
    ],
)
def test_rules_that_exclude_each_other_or_are_none(lines: str, said: str) -> None:
    with pytest.raises(ProcedureError) as error:
        ruled(lines)
    assert said in str(error.value)
