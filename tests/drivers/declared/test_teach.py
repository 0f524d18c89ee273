"""Learning a display's map from frames and what was shown: the invented one of the vector files."""

import re
from collections.abc import Mapping
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog_drivers.declared.display_file import load_display
from meterlog_drivers.declared.display_model import CHARACTERS, Position
from meterlog_drivers.declared.teach import Example, alike, draft, learn
from tests.drivers.vectors import FOLDER, rows

MAP = load_display(FOLDER / "lcd_demo15.toml").tables
TRUE: Mapping[str, Position] = {
    ".".join(str(part + 1) if isinstance(part, int) else part for part in place): position
    for place, position in MAP.positions()
}
DIGITS = 4


def frame_of(figures: str, point: int, words: list[str]) -> bytes:
    """What the invented display's chip would send; an encoder of its own."""
    frame = bytearray(place << 4 for place in range(1, 16))
    lit = [f"annunciators.{word}" for word in words]
    lit += [f"digit.{place}.{name}" for place, one in enumerate(figures, 1) for name in CHARACTERS[one][0]]
    lit += [f"digit.{point}.point"] if point else []
    for element in lit:
        byte, bit = TRUE[element]
        frame[byte] |= 1 << bit
    return bytes(frame)


def example(figures: str, point: int, words: list[str]) -> Example:
    shown = figures.replace(" ", "_")
    shown = f"{shown[:point]}.{shown[point:]}" if point else shown
    named = [word for word in words if word != "minus"]
    return Example(frame_of(figures, point, words), " ".join(["-" * ("minus" in words) + shown, *named]))


EXAMPLES = st.lists(
    st.builds(
        example,
        st.text("0123456789", min_size=4, max_size=4),
        st.integers(0, 3),
        st.lists(st.sampled_from(["minus", "ac", "auto", "hold", "m", "V", "k", "ohm"]), unique=True),
    ),
    min_size=1,
    max_size=30,
)


def test_the_encoder_of_this_test_agrees_with_the_vectors() -> None:
    row = next(row for row in rows("lcd_demo15.csv") if row["id"] == "lcd-02")
    assert frame_of("0567", 1, ["minus", "dc", "V"]) == bytes.fromhex(row["hex"])


@given(EXAMPLES)
def test_the_truth_is_never_ruled_out(examples: list[Example]) -> None:
    lesson = learn(examples, DIGITS)
    assert lesson.impossible == ()
    for element, position in lesson.found.items():
        assert position == TRUE[element]
    for element, positions in lesson.open.items():
        assert TRUE[element] in positions
    assert lesson.index


def enough() -> list[Example]:
    """In which no two elements are always lit together."""
    figures = ["0123", "1234", "2345", "3456", "4567", "5678", "6789", "7890", "8901", "9012", "0358", "4 1L"]
    named = [*map(str, MAP.annunciators)]
    return [
        example(one, number % 4, [word for place, word in enumerate(named) if (place + 1) >> number % 5 & 1])
        for number, one in enumerate(figures * 2)
    ]


def test_enough_examples_give_the_whole_map(tmp_path: Path) -> None:
    lesson = learn(enough(), DIGITS)
    assert lesson.open == {}
    assert dict(lesson.found) == TRUE
    path = tmp_path / "learnt.toml"
    path.write_text(draft(lesson, "learnt", 15, DIGITS))
    learnt = load_display(path).tables
    assert (learnt.digits, learnt.annunciators) == (MAP.digits, MAP.annunciators)


def test_the_frames_of_the_vector_file_teach_most_of_it() -> None:
    """Its rows as a person would type them: digits as shown, annunciators by name."""
    special = {"diode": ["diode", "V"], "continuity": ["continuity", "ohm"]}
    examples = []
    for row in rows("lcd_demo15.csv"):
        if row["expect"] == "reject":
            continue
        prefix = {"lcd-04": "m", "lcd-05": "k", "lcd-08": "n", "lcd-09": "k"}.get(row["id"], "")
        words = [row["coupling"], prefix, *special.get(row["function"], [row["unit"]]), *row["flags"].split()]
        shown = " ".join([row["display"].strip().replace("0L", "_0L_"), *filter(None, words)])
        examples.append(Example(bytes.fromhex(row["hex"]), shown))
    lesson = learn(examples, DIGITS)
    assert lesson.impossible == ()
    assert len(lesson.found) > 20
    assert all(TRUE[element] == position for element, position in lesson.found.items())
    assert all(TRUE[element] in positions for element, positions in lesson.open.items())


def test_what_cannot_be_told_apart_is_said() -> None:
    lesson = learn([example("8888", 0, ["V", "dc"])], DIGITS)
    assert lesson.found == {}
    assert len(lesson.open["annunciators.V"]) == 4 * 7 + 2
    groups = alike([example("8888", 0, ["V", "dc"])], DIGITS)
    assert any({"annunciators.V", "annunciators.dc", "digit.1.a"} <= set(group) for group in groups)


@pytest.mark.parametrize("number", [0, 7, 14])
def test_one_digit_typed_wrong_is_told(number: int) -> None:
    """Its segments then agree with no bit."""
    examples = enough()
    good = examples[number]
    wrong = next(letter for letter in "0123456789" if letter not in good.shown)
    mistyped = re.sub(r"[0-9]", wrong, good.shown, count=1)
    lesson = learn([*examples[:number], Example(good.frame, mistyped), *examples[number + 1 :]], DIGITS)
    assert lesson.impossible
    assert {element.rpartition(".")[0] for element in lesson.impossible} == {"digit.1"}


def test_a_bit_that_nobody_named_is_told() -> None:
    lesson = learn(
        [example("1234", 1, ["V"]), Example(frame_of("1234", 1, ["V", "hold"]), "1.234 V")], DIGITS
    )
    assert TRUE["annunciators.hold"] in lesson.unexplained


@pytest.mark.parametrize(
    ("shown", "told"),
    [
        ("12345", "does not fit into 4 digits"),
        ("1.2.3", "does not fit"),
        ("12A4", "'A' is none of"),
        ("1234 furlong", "'furlong' is no annunciator; annunciators are minus, dc"),
    ],
)
def test_what_cannot_be_on_a_display_is_told(shown: str, told: str) -> None:
    with pytest.raises(ValueError, match=f"example 2: .*{re.escape(told)}"):
        learn([example("1234", 0, []), Example(bytes(15), shown)], DIGITS)


def test_frames_of_two_lengths_are_told() -> None:
    with pytest.raises(ValueError, match="not of one length: 15, 14"):
        learn([Example(bytes(15), "1"), Example(bytes(14), "1")], DIGITS)


def test_nothing_teaches_nothing() -> None:
    assert learn([], DIGITS).found == {}
