"""What keys mean in the terminal view; a foot switch is a keyboard that types space, enter or page down."""

import os
import pty
import tty

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.cli.follow.keyboard import BACKSPACE, ENTER, ESCAPE, GO_ON, HELP, Keyboard, Request
from meterlog.cli.follow.terminal import keys_pressed, named
from meterlog.cli.working import Kind


def typed(keys: list[str], *, paused: bool = False) -> tuple[Keyboard, list[Request]]:
    """A second between two keys."""
    keyboard = Keyboard()
    found = [keyboard.press(key, float(at), paused=paused) for at, key in enumerate(keys)]
    return keyboard, [request for request in found if request is not None]


@pytest.mark.parametrize("key", GO_ON)
def test_every_foot_switch_goes_on(key: str) -> None:
    assert typed([key])[1] == [Request("go-on")]


def test_a_held_or_bouncing_switch_goes_on_once() -> None:
    keyboard = Keyboard()
    presses = [keyboard.press(" ", at_s / 30, paused=False) for at_s in range(90)]
    assert [request for request in presses if request] == [Request("go-on")]
    assert keyboard.press(" ", 10.0, paused=False) == Request("go-on")


KEYS_WITH_REASON = [
    ("r", "redo"),
    ("s", "skip"),
    ("n", "note"),
    ("t", "environment"),
    ("a", "set-aside"),
    ("b", "break-off"),
    ("i", "inoperable"),
    ("o", "other-meter"),
]


@pytest.mark.parametrize(("key", "kind"), KEYS_WITH_REASON)
def test_a_reason_is_typed_and_sent(key: str, kind: str) -> None:
    assert typed([key, *"no tape", ENTER])[1] == [Request(kind, "no tape")]


@pytest.mark.parametrize("key", ["e", *GO_ON])
def test_what_the_step_asks_for_is_typed_and_sent(key: str) -> None:
    keyboard = Keyboard()
    keys = [key, *"-0.5 VU", ENTER]
    found = [
        keyboard.press(one, float(at), paused=False, asks_for="reading in VU") for at, one in enumerate(keys)
    ]
    assert [request for request in found if request] == [Request("enter", "-0.5 VU")]


def test_nothing_typed_is_not_sent() -> None:
    keyboard = Keyboard()
    assert [keyboard.press(ENTER, at_s, paused=False, asks_for="name") for at_s in (0.0, 1.0)] == [None, None]
    assert keyboard.asking == ""


def test_what_nobody_asked_for_is_typed_to_its_end_and_refused() -> None:
    """Its letters are those of commands: n begins a note, space goes on, q leaves."""
    keyboard, requests = typed(["e", *"nan q", ENTER])
    assert requests == [Request(refused="nothing is asked for here: 'nan q' was not taken")]
    assert keyboard.asking == ""
    assert typed(["e", ENTER])[1] == [Request(refused="nothing is asked for here")]
    assert typed(["e", "n", ESCAPE, " "])[1] == [Request("go-on")]


def test_half_a_reading_does_not_go_over_to_another_question() -> None:
    keyboard = Keyboard()
    for at, key in enumerate("e1"):
        keyboard.press(key, float(at), paused=False, asks_for="reading in VU")
    rest = [keyboard.press(key, 5.0, paused=False, asks_for="name") for key in ("n", " ", ENTER)]
    assert rest == [None, None, Request(refused="nothing is asked for here: '1n' was not taken")]
    keyboard.press("e", 6.0, paused=False, asks_for="name")
    assert (keyboard.wanted, keyboard.typed) == ("name", "")


def test_space_and_q_are_letters_while_a_reason_is_typed() -> None:
    assert typed(["n", *"q p", ENTER, " "])[1] == [Request("note", "q p"), Request("go-on")]


def test_typing_can_be_mended_and_left() -> None:
    assert typed(["s", *"ab", BACKSPACE, ENTER])[1] == [Request("skip", "a")]
    keyboard, requests = typed(["s", "a", ESCAPE, "n", "b", ENTER])
    assert requests == [Request("note", "b")]
    assert keyboard.asking == ""


def test_pause_is_a_key_with_two_meanings() -> None:
    assert typed(["p"])[1] == [Request("pause")]
    assert typed(["p"], paused=True)[1] == [Request("resume")]


def test_leaving_asks_nothing_of_the_daemon() -> None:
    assert typed(["q"])[1] == [Request(leave=True)]


@given(st.lists(st.text(max_size=3)))
def test_no_key_stumbles(keys: list[str]) -> None:
    typed(keys)


def test_what_a_key_asks_for_can_be_asked_from_a_script_too() -> None:
    assert {kind for _, kind in KEYS_WITH_REASON} <= set(Kind)


def test_the_help_names_every_key() -> None:
    assert all(f" {key} " in f" {HELP} " for key in "ersntpabiq")


@pytest.mark.parametrize(
    ("bytes_", "keys"),
    [
        ("\x1b[6~", ["page down"]),
        ("\x1b", ["esc"]),
        ("\x1b[A", []),
        ("a\r", ["a", ENTER]),
        ("\x7f", ["backspace"]),
    ],
)
def test_what_a_terminal_sends_for_a_key(bytes_: str, keys: list[str]) -> None:
    """Sequences as in ECMA-48 and as every terminal emulator sends them (common practice)."""
    assert named(bytes_) == keys


def test_keys_come_from_the_terminal_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    far, near = pty.openpty()
    tty.setcbreak(near)
    with os.fdopen(near, "r") as terminal:
        monkeypatch.setattr("sys.stdin", terminal)
        assert keys_pressed(0.0) == []
        os.write(far, b"r")
        assert keys_pressed(30.0) == ["r"]
    os.close(far)
