"""A person's hands: how far, how fast, how late."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.simulate.hands import Doing, Hands, Knob
from meterlog.simulate.look import GO_ON, Look
from meterlog.simulate.unit import Value

TICK_S = 0.05
KNOB = Knob(name="bias")
DIAL = Knob(name="level_dbu", is_dial=True, speed=2.0, sweep=0.5, probe=0.5, stroke=4.0, fine=0.02)


class Recorder:
    """Acts that only take notes."""

    def __init__(self) -> None:
        self.turned: list[float] = []
        self.controls: list[tuple[str, Value]] = []
        self.pressed: list[str] = []

    def turn(self, trimmer: str, by: float) -> None:
        assert trimmer == KNOB.name
        self.turned.append(by)

    def set(self, control: str, value: Value) -> None:
        self.controls.append((control, value))

    def press(self, key: str) -> None:
        self.pressed.append(key)


def do(doing: Doing, look: Look | None = None, limit_s: float = 120.0) -> float:
    """Let it be done in virtual time; returns how long it took."""
    next(doing)
    for tick in itertools.count():
        at_s = tick * TICK_S
        assert at_s < limit_s, "never done"
        base = look or Look(at_s=0.0, step="s", pattern="adjust")
        try:
            doing.send(Look(at_s=at_s, step=base.step, pattern=base.pattern, volts=at_s, lamp=at_s >= 3.0))
        except StopIteration:
            return at_s
    raise AssertionError


@given(by=st.floats(-0.5, 0.5).filter(lambda by: abs(by) > 0.001), seed=st.integers(0, 10_000))
def test_turns_about_as_far_as_meant(by: float, seed: int) -> None:
    acts = Recorder()
    hands = Hands(acts, seed)
    do(hands.turn(KNOB, by))
    assert sum(acts.turned) == pytest.approx(by, rel=0.35)
    assert hands.place(KNOB) == pytest.approx(sum(acts.turned))


def test_turns_at_a_human_speed_and_slows_near_the_goal() -> None:
    acts = Recorder()
    do(Hands(acts).turn(KNOB, 0.3))
    assert max(acts.turned) <= KNOB.speed * TICK_S * 1.001
    assert max(acts.turned[-3:]) < max(acts.turned) / 4


def test_a_hand_does_not_move_less_than_it_can() -> None:
    acts = Recorder()
    do(Hands(acts).turn(KNOB, 1e-9))
    assert abs(sum(acts.turned)) > KNOB.fine / 2


def test_sweep_stops_a_reaction_time_after_what_is_seen() -> None:
    for seed in range(30):
        acts = Recorder()
        took_s = do(Hands(acts, seed).sweep(KNOB, 1.0, lambda look: look.lamp))
        assert 3.2 - TICK_S <= took_s <= 3.4 + 2 * TICK_S
        assert sum(acts.turned) == pytest.approx(KNOB.sweep * took_s, rel=0.05)


def test_sweep_ends_at_its_limit_if_nothing_is_seen() -> None:
    acts = Recorder()
    do(Hands(acts).sweep(KNOB, -0.1, lambda _: False))
    assert sum(acts.turned) == pytest.approx(-0.1)


def test_nobody_turns_on_blindly() -> None:
    acts = Recorder()
    sweep = Hands(acts).sweep(KNOB, 1.0, lambda _: False)
    next(sweep)
    for tick in range(100):
        sweep.send(Look(at_s=tick * TICK_S, step="s", pattern="extremum", volts=1.0 if tick < 20 else None))
    assert sum(acts.turned) == pytest.approx(KNOB.sweep * 19 * TICK_S)


def test_a_dial_is_set_from_where_it_was() -> None:
    acts = Recorder()
    hands = Hands(acts)
    do(hands.set("level_dbu", -16.0))
    do(hands.sweep(DIAL, 0.5, lambda _: False))
    assert acts.controls[0] == ("level_dbu", -16.0)
    control, value = acts.controls[-1]
    assert control == "level_dbu"
    assert float(value) == pytest.approx(-15.5)


def test_what_is_set_already_is_left_alone() -> None:
    acts = Recorder()
    hands = Hands(acts)
    do(hands.set("transport", "stop"))
    do(hands.set("transport", "stop"))
    assert acts.controls == [("transport", "stop")]


def test_the_foot_takes_its_time() -> None:
    acts = Recorder()
    took_s = do(Hands(acts).press())
    assert acts.pressed == [GO_ON]
    assert 0.4 <= took_s <= 0.8  # a reaction, and a moment to see what happens


def test_equal_seeds_give_equal_hands() -> None:
    first, second, other = Recorder(), Recorder(), Recorder()
    for acts, seed in ((first, 1), (second, 1), (other, 2)):
        do(Hands(acts, seed).turn(KNOB, 0.1))
    assert first.turned == second.turned
    assert first.turned != other.turned
