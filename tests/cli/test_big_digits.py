"""Large digits: told apart by their bars alone, as wide as the terminal allows."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.cli.follow.big_digits import BLOCK, big

# Bars a-g of each digit as every seven-segment decoder draws them, clockwise from the top, g in the middle
# (data sheets of the 7447 and 4511 families; the 6 and 9 with tails, the 7 without). From memory.
SEGMENTS = {
    "0": "abcdef",
    "1": "bc",
    "2": "abged",
    "3": "abgcd",
    "4": "fgbc",
    "5": "afgcd",
    "6": "afgedc",
    "7": "abc",
    "8": "abcdefg",
    "9": "abcdfg",
    "-": "g",
}


def bars_of(glyph: list[str]) -> set[str]:
    """Read the bars off the drawing, in the middle of each, where no other bar reaches."""
    tall, across = len(glyph), len(glyph[0])
    upper, lower, middle = tall // 4, tall - 1 - tall // 4, tall // 2
    at = {
        "a": (0, across // 2),
        "g": (middle, across // 2),
        "d": (tall - 1, across // 2),
        "f": (upper, 0),
        "b": (upper, across - 1),
        "e": (lower, 0),
        "c": (lower, across - 1),
    }
    return {bar for bar, (row, column) in at.items() if glyph[row][column] == BLOCK}


@pytest.mark.parametrize("width", [4, 6, 8, 10, 200])
@pytest.mark.parametrize("mark", SEGMENTS)
def test_each_digit_has_its_bars_and_no_others(mark: str, width: int) -> None:
    assert bars_of(big(mark, width)) == set(SEGMENTS[mark])


NUMBERS = st.from_regex(r"[+-]?[0-9]{1,5}(\.[0-9]{1,3})?", fullmatch=True)


@given(NUMBERS, st.integers(1, 200))
def test_the_lines_fit_and_are_equally_long(text: str, width: int) -> None:
    lines = big(text, width)
    assert len({len(line) for line in lines}) == 1
    assert lines == [text] or len(lines[0]) <= width


@given(NUMBERS, NUMBERS)
def test_two_numbers_never_look_the_same(one: str, other: str) -> None:
    assert (big(one, 500) == big(other, 500)) == (one == other)


def test_a_wide_terminal_gets_larger_digits() -> None:
    assert len(big("+4.00", 100)) > len(big("+4.00", 40)) > len(big("+4.00", 5)) == 1


@pytest.mark.parametrize("word", ["overload", "-inf", "", "blank"])
def test_what_is_no_number_stays_a_word(word: str) -> None:
    assert big(word, 100) == [word]
