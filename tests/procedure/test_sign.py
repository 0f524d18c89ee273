"""A name put to the results."""

import pytest

from meterlog.accuracy import Verdict
from meterlog.procedure import ActionKind, Ending, IllegalAction, Pass, SessionState, StepEnded
from tests.procedure.bench import Bench
from tests.procedure.test_entered import POINTER, TRIMMED
from tests.procedure.test_load import problems

SIGN = """
[[step]]
id = "sign"
title = "Signature"
pattern = "sign"
"""


def at_signature(steps: str = POINTER) -> Bench:
    bench = Bench(steps + SIGN)
    while bench.engine.view().step != "sign":
        bench.act(ActionKind.ENTER, "0")
    return bench


def test_a_name_is_asked_for_and_kept_as_it_was_typed() -> None:
    bench = at_signature()
    assert bench.engine.view().guide.asks_for == "name"
    bench.act(ActionKind.ENTER, "M.  Tern")
    ended = [out for out in bench.outcomes if isinstance(out, StepEnded)][-1]
    assert (ended.step, ended.ending, ended.reason) == ("sign", Ending.DONE, "signed by M. Tern")
    bench.press()
    assert bench.engine.state is SessionState.ENDED
    assert bench.engine.verdict() is Verdict.PASS


@pytest.mark.parametrize("text", ["", "  ", "12", "...", "M" * 81])
def test_what_is_no_name_is_refused(text: str) -> None:
    bench = at_signature()
    with pytest.raises(IllegalAction, match="type the name of the person who signs"):
        bench.act(ActionKind.ENTER, text)


def test_the_pedal_signs_nothing() -> None:
    with pytest.raises(IllegalAction, match="the pedal alone signs nothing"):
        at_signature().press()


def test_it_comes_once_at_the_end_of_the_last_pass() -> None:
    turned = [(p.step.id, p.pass_) for p in Bench(TRIMMED + SIGN).engine.plan]
    assert turned[-2:] == [("sign", Pass.AS_LEFT), ("close", Pass.AS_LEFT)]
    looked = [(p.step.id, p.pass_) for p in Bench(POINTER + SIGN).engine.plan]
    assert [step for step, _ in looked] == ["pointer", "sign", "close"]


def test_whoever_signed_has_to_sign_again_after_a_redo() -> None:
    bench = at_signature()
    bench.act(ActionKind.ENTER, "M. Tern")
    bench.act(ActionKind.REDO, "read it wrongly", 0)
    bench.act(ActionKind.ENTER, "0.1")
    assert bench.engine.view().step == "sign"
    bench.act(ActionKind.ENTER, "M. Tern")
    assert bench.engine.view().step == "close"


def test_it_must_be_the_last_step() -> None:
    ((_, field, message),) = problems(SIGN + POINTER)
    assert (field, "a signature is the last step" in message) == ("step.1", True)
