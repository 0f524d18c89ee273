"""The meter's averaging time comes from the bench where a step states none."""

from meterlog.procedure import load_procedure_text, with_lags
from meterlog.procedure.model import Adjust, Alternate
from tests.procedure.bench import HEAD
from tests.procedure.test_patterns import ADJUST, ALTERNATE


def test_a_step_without_a_lag_takes_that_of_its_channel_and_what_it_states_stays() -> None:
    own = ADJUST.replace('"level"', '"own"') + 'lag = "0.1 s"\n'
    procedure = load_procedure_text(HEAD + ADJUST + own + ALTERNATE, "test.toml")
    lagged = with_lags(procedure, {"output": 0.3, "panel": 0.5})
    level, stated, alternate = lagged.steps
    assert isinstance(level, Adjust)
    assert isinstance(stated, Adjust)
    assert isinstance(alternate, Alternate)
    assert (level.lag, stated.lag) == (0.3, 0.1)
    assert {condition.lag for condition in alternate.condition} == {0.5}
    assert (lagged.text, lagged.digest) == (procedure.text, procedure.digest)
    assert with_lags(procedure, {}) == procedure
