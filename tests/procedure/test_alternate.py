"""Conditions that disturb each other: a hand without nerves on a linear unit. Numbers are made up."""

import random

import pytest

from meterlog.accuracy import Verdict
from meterlog.procedure import ActionKind, Engine, Pass, StepEnded
from meterlog.procedure.patterns.matrix import Matrix
from tests.procedure.bench import PERIOD_S, Bench
from tests.procedure.test_load import problems

STEP = """
[[step]]
id = "pair"
title = "Pair"
pattern = "alternate"
{more}
"""
CONDITION = """
[[step.condition]]
name = "{name}"
setup = "Switch to {name}."
channel = "output"
target = "1 V"
tolerance = "10 mV"
dwell = "0.6 s"
hold = "0.4 s"
"""
GUARD = '[[guard]]\nname = "Limit"\nchannel = "output"\nnever_above = "1.05 V"\n'
NAMES = ("low", "high", "middle")


class Pair:
    """A linear unit under the engine; the hand leaves every level where the guide's target is."""

    def __init__(
        self,
        effects: Matrix,
        errors: list[float],
        more: str = "",
        guard: str = "",
        condition: str = CONDITION,
        miss: float = 0.0,
    ) -> None:
        count = len(errors)
        steps = STEP.format(more=more) + "".join(condition.format(name=name) for name in NAMES[:count])
        self.bench = Bench(guard + steps)
        self._effects, self._miss = effects, miss
        self.levels = [1.0 + error for error in errors]
        self.asked: list[str] = []
        self.rounds = 0
        self._dice = random.Random(3)

    def turn(self, at: int, goal: float) -> None:
        move = goal + self._dice.gauss(0.0, self._miss) - self.levels[at]
        self.levels = [v + row[at] * move for v, row in zip(self.levels, self._effects, strict=True)]

    def adjust(self) -> StepEnded:
        while (end := self.ended()) is None:
            self.one_look()
        return end

    def ended(self) -> StepEnded | None:
        ends = [one for one in self.bench.outcomes if isinstance(one, StepEnded)]
        return next((one for one in ends if one.pass_ is Pass.ADJUST), None)

    def one_look(self) -> None:
        """Whatever the view asks for; a trimmer is turned at once."""
        guide = self.bench.engine.view().guide
        at = next(i for i, name in enumerate(NAMES) if self.step_condition() == name)
        if guide.awaiting_go_on:
            self.bench.press()
        if guide.phase == "trim" and guide.direction in ("up", "down"):
            self.asked.append(guide.do_now)
            assert guide.target is not None
            self.turn(at, guide.target)
        self.rounds = guide.round
        self.bench.run(PERIOD_S, output=self.levels[at])

    def step_condition(self) -> str:
        """The condition at hand, as the words of its setup tell it."""
        words = self.bench.engine.view().guide.do_now
        self._at = next((name for name in NAMES if f"to {name}." in words), getattr(self, "_at", NAMES[0]))
        return self._at


def coupled(r: float) -> Matrix:
    return [[1.0, r], [1.0, 1.0]]


@pytest.mark.parametrize("r", [-0.9, -0.4, 0.3, 0.6, 0.8])
def test_aim_off_is_done_in_few_rounds_and_ends_with_a_clean_one(r: float) -> None:
    pair = Pair(coupled(r), [0.08, -0.05], miss=0.001)
    end = pair.adjust()
    assert end.verdict is Verdict.PASS
    assert pair.rounds <= 6
    assert f"untouched in round {pair.rounds}; r = {r:.1f}" in end.reason
    assert all(abs(level - 1.0) <= 0.010 for level in pair.levels)


def test_plain_rounds_are_more() -> None:
    aimed, plain = (
        Pair(coupled(0.8), [0.08, -0.05], f"rounds = 60\naim_off = {aim}") for aim in ("true", "false")
    )
    assert aimed.adjust().verdict is plain.adjust().verdict is Verdict.PASS
    assert not any("on purpose" in words for words in plain.asked)
    assert aimed.rounds < plain.rounds / 2


def test_words_target_and_record_tell_that_a_level_is_left_beside_its_target() -> None:
    """A level aimed off is captured against its own window, and fails there."""
    pair = Pair(coupled(0.6), [0.02, 0.06])
    pair.adjust()
    words = next(words for words in pair.asked if "on purpose" in words)
    assert "its target on purpose: setting the others brings it back" in words
    aimed = [
        value for value in pair.bench.settled if value.verdict is Verdict.FAIL and value.pass_ is Pass.ADJUST
    ]
    assert aimed
    assert {value.target for value in aimed} == {1.0}


def test_an_aim_off_stays_a_window_inside_of_a_guard() -> None:
    pair = Pair(coupled(0.8), [0.02, -0.04], guard=GUARD)
    highest = 0.0
    while pair.ended() is None:
        pair.one_look()
        guide = pair.bench.engine.view().guide
        highest = max(highest, guide.target or 0.0)
    assert 1.0 < highest <= 1.04
    ended = pair.ended()
    assert ended is not None
    assert ended.verdict is Verdict.PASS


def test_no_aim_off_beyond_double_or_half_the_target() -> None:
    """A pair with r = 0.95 and an error of a fifth would ask for levels of several volts."""
    pair = Pair(coupled(0.95), [0.0, 0.2], "rounds = 20")
    while pair.ended() is None:
        pair.one_look()
        guide = pair.bench.engine.view().guide
        assert guide.target is None or 0.5 <= guide.target <= 2.0


def test_three_conditions() -> None:
    effects = [[1.0, 0.4, -0.3], [0.5, 1.0, 0.2], [-0.2, 0.5, 1.0]]
    pair = Pair(effects, [0.08, -0.05, 0.1], miss=0.0005)
    assert pair.adjust().verdict is Verdict.PASS
    assert pair.rounds <= 7


def test_large_r_is_set_by_aim_off_and_exchanging_the_trimmers_is_advised() -> None:
    """r = 2: plain rounds would double the error each time; exchanged, r is 1/2 (calc)."""
    pair, said = Pair(coupled(2.0), [0.02, -0.02]), set()
    while pair.ended() is None:
        pair.one_look()
        said.add(pair.bench.engine.view().guide.do_now)
    ended = pair.ended()
    assert ended is not None
    assert ended.verdict is Verdict.PASS
    assert any("trimmers exchanged r would be 0.50" in words for words in said)


@pytest.mark.parametrize(("r", "errors"), [(5.0, [0.10, -0.05]), (2.0, [0.3, -0.3]), (3.0, [0.3, -0.3])])
def test_where_the_limits_leave_no_room_beyond_one_it_ends_before_the_levels_run_away(
    r: float, errors: list[float]
) -> None:
    """Each plain round multiplies the error by r; the aim-off would lie beyond double or half the target."""
    pair, farthest = Pair(coupled(r), errors, "rounds = 20"), 0.0
    while pair.ended() is None:
        pair.one_look()
        farthest = max(farthest, *(abs(level - 1.0) for level in pair.levels))
    ended = pair.ended()
    assert ended is not None
    assert ended.verdict is Verdict.FAIL
    assert f"exchanged r would be {1.0 / r:.2f}" in ended.reason
    assert pair.rounds <= 3
    assert farthest <= 1.01 * r**3 * sum(map(abs, errors))


def test_plain_rounds_that_get_worse_end_with_condition_distance_and_r() -> None:
    end = Pair(coupled(1.5), [0.02, -0.03], "aim_off = false").adjust()
    assert end.verdict is Verdict.FAIL
    assert "came back" in end.reason
    assert " mV off; r = 1.5" in end.reason
    assert "exchanged r would be 0.67" in end.reason
    assert "within 6 rounds" in end.reason, "given up after four rounds without a better one"


def test_conditions_that_are_not_independent_are_called_so() -> None:
    end = Pair(coupled(0.995), [0.05, -0.05], "rounds = 6").adjust()
    assert end.verdict is Verdict.FAIL
    assert "not independent (r = 0.99" in end.reason or "not independent (r = 1.00" in end.reason


def test_a_pause_forgets_the_levels_and_not_the_unit() -> None:
    pair = Pair(coupled(0.8), [0.08, -0.05], miss=0.001)
    while pair.rounds < 3:
        pair.one_look()
    pair.bench.act(ActionKind.PAUSE)
    pair.turn(0, 1.05)
    pair.bench.press()
    assert pair.adjust().verdict is Verdict.PASS


def set_by_difference(
    high: str, levels: dict[str, float], share: float, guard: str = ""
) -> list[tuple[str, float]]:
    """Who was turned and to which level, until both hold: `low` to 1 V, `high`; the first one's trimmer moves
    both alike, the second one's moves the first by the share (made up)."""
    spread = CONDITION.replace('"1 V"', '"{volts}"')
    steps = spread.format(name="low", volts="1 V") + spread.format(name="high", volts=high)
    bench = Bench(guard + STEP.format(more='mode = "difference"') + steps)
    turned: list[tuple[str, float]] = []
    at, ended = "low", list[StepEnded]()
    while not ended:
        guide = bench.engine.view().guide
        at = next((name for name in levels if f"to {name}." in guide.do_now), at)
        if guide.awaiting_go_on:
            bench.press()
        if guide.phase == "trim" and guide.direction in ("up", "down"):
            assert guide.target is not None
            move = guide.target - levels[at]
            turned.append((at, guide.target))
            levels["low"] += move * (share if at == "high" else 1.0)
            levels["high"] += move
        out = bench.run(PERIOD_S, output=levels[at])
        ended = [one for one in out if isinstance(one, StepEnded) and one.pass_ is Pass.ADJUST]
    assert ended[0].verdict is Verdict.PASS
    return turned


def test_difference_mode_sets_the_second_by_its_difference_and_the_first_once() -> None:
    """A scale of 1.000 V between the two."""
    levels = {"low": 1.1, "high": 2.2}
    turned = set_by_difference("2 V", levels, 0.3)
    assert [name for name, _ in turned] == ["high", "high", "low"]
    assert levels["high"] - levels["low"] == pytest.approx(1.0, abs=0.01)


def test_difference_mode_keeps_to_its_guard() -> None:
    """Found 3 V above, the first one would have the second at 4.3 V: by plain rounds then."""
    guard = GUARD.replace("1.05 V", "4.1 V")
    turned = set_by_difference("1.3 V", {"low": 4.0, "high": 1.6}, 0.2, guard)
    assert max(level for _, level in turned) < 4.1


@pytest.mark.parametrize(
    ("more", "count", "complaint"),
    [
        ('mode = "difference"', 3, "two conditions on one channel"),
        ('mode = "sums"', 2, "mode"),
        ('aim_off = "perhaps"', 2, "aim_off"),
    ],
)
def test_bad_input(more: str, count: int, complaint: str) -> None:
    text = STEP.format(more=more) + "".join(CONDITION.format(name=name) for name in NAMES[:count])
    assert any(complaint in str(problem) for problem in problems(text))


def test_replay_gives_the_same_to_the_last_bit() -> None:
    pair = Pair(coupled(0.7), [0.08, -0.05], miss=0.001)
    pair.adjust()
    engine = Engine(pair.bench.engine.procedure)
    assert [outcome for event in pair.bench.events for outcome in engine.apply(event)] == pair.bench.outcomes
