"""The field for what a step wants typed in."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from meterlog.procedure.view import Guide, SessionState
from tests.browser.fake_daemon import FakeDaemon
from tests.browser.helpers import AFTER_DEBOUNCE_MS, OpenPage, press, until
from tests.browser.messages import INSIDE, LEVEL, live, stored, view, volts

READING = Guide(
    do_now="Read it, then type the reading in VU.",
    asks_for="reading in VU",
    target=volts(4.0),
    low=volts(3.8),
    high=volts(4.2),
)
NAME = Guide(do_now="Whoever signs them types the name.", asks_for="name")


def entered(daemon: FakeDaemon) -> list[Any]:
    return [action["text"] for action in daemon.actions if action["kind"] == "enter"]


def test_the_field_is_there_only_while_something_is_asked_for(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#number")).to_have_text("+3.65")
    expect(page.locator("#entry")).to_be_hidden()
    daemon.show(live(view(READING)))
    expect(page.locator("#entry")).to_be_visible()
    expect(page.locator("#entry-label")).to_have_text("reading in VU")
    expect(page.locator("#entry-text")).to_be_focused()
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#entry")).to_be_hidden()


def test_type_and_press_enter(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(READING)))
    expect(page.locator("#entry-text")).to_be_focused()
    page.keyboard.type("-0.5 VU")
    page.keyboard.press("Enter")
    until(page, lambda: bool(daemon.actions))
    assert daemon.actions == [{"kind": "enter", "text": "-0.5 VU", "place": None}]
    expect(page.locator("#entry-text")).to_have_value("")
    daemon.say(stored(1))
    expect(page.locator("#stored li")).to_contain_text("✓ pass")


def test_the_button_does_the_same(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(NAME)))
    page.fill("#entry-text", "M. Tern")
    page.click("#entry button")
    until(page, lambda: entered(daemon) == ["M. Tern"])


def test_a_refusal_is_shown_beside_the_field_and_the_text_can_be_mended(
    page: Page, daemon: FakeDaemon
) -> None:
    daemon.refuse = "'5 ohm' is not in VU; write the number and VU"
    daemon.show(live(view(READING)))
    page.fill("#entry-text", "5 ohm")
    page.keyboard.press("Enter")
    expect(page.locator("#entry-refused")).to_have_text(daemon.refuse)
    expect(page.locator("#entry-text")).to_have_value("5 ohm")
    daemon.refuse = ""
    page.keyboard.type("0.5 VU")  # the refused text is selected: typing replaces it
    page.keyboard.press("Enter")
    until(page, lambda: entered(daemon) == ["5 ohm", "0.5 VU"])
    expect(page.locator("#entry-refused")).to_have_text("")


def test_nothing_typed_is_not_sent_and_no_letter_is_the_pedal(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(READING)))
    expect(page.locator("#entry-text")).to_be_focused()
    press(page, "Enter")
    expect(page.locator("#entry-refused")).to_have_text("Type the reading in VU first.")
    press(page, "b")
    expect(page.locator("#entry-text")).to_have_value("b")
    assert daemon.actions == []


def test_a_bouncing_enter_does_not_answer_the_next_step(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(READING, place=2)))
    expect(page.locator("#entry-text")).to_be_focused()
    page.fill("#entry-text", "0.1")
    page.evaluate("for (let i = 0; i < 3; i += 1) document.getElementById('entry').requestSubmit()")
    until(page, lambda: bool(daemon.actions))
    daemon.show(live(view(NAME, place=3)))
    expect(page.locator("#entry-label")).to_have_text("name")
    page.fill("#entry-text", "M. Tern")
    page.keyboard.press("Enter")
    until(page, lambda: len(daemon.actions) > 1)
    assert entered(daemon) == ["0.1", "M. Tern"]


def test_an_answer_that_comes_late_leaves_the_next_steps_text_alone(page: Page, daemon: FakeDaemon) -> None:
    """The answer to the step before arrives while the next is typed: nothing typed may be lost."""
    daemon.show(live(view(READING, place=2)))
    expect(page.locator("#entry-text")).to_be_focused()
    with daemon.answering_late():
        page.fill("#entry-text", "0.1")
        page.keyboard.press("Enter")
        until(page, lambda: bool(daemon.actions))
        daemon.show(live(view(NAME, place=3)))
        expect(page.locator("#entry-label")).to_have_text("name")
        page.fill("#entry-text", "M. Te")
    until(page, lambda: daemon.answered == 1)
    page.wait_for_timeout(AFTER_DEBOUNCE_MS)
    expect(page.locator("#entry-text")).to_have_value("M. Te")
    page.keyboard.type("rn")
    page.keyboard.press("Enter")
    until(page, lambda: entered(daemon) == ["0.1", "M. Tern"])


def test_half_a_text_does_not_go_over_to_another_step(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(READING, place=2)))
    page.fill("#entry-text", "0.")
    daemon.show(live(view(NAME, place=3)))
    expect(page.locator("#entry-label")).to_have_text("name")
    expect(page.locator("#entry-text")).to_have_value("")


def test_what_is_being_typed_stays_while_the_page_goes_on(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(READING)))
    page.fill("#entry-text", "-1")
    sequence = daemon.sequence
    until(page, lambda: daemon.sequence > sequence + 5)
    expect(page.locator("#entry-text")).to_have_value("-1")


def test_the_pedal_works_again_when_the_field_has_gone(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(READING)))
    expect(page.locator("#entry-text")).to_be_focused()
    daemon.show(live(view(INSIDE)))
    expect(page.locator("#entry")).to_be_hidden()
    press(page, "b")
    until(page, lambda: [action["kind"] for action in daemon.actions] == ["go-on"])


def test_a_paused_session_asks_for_nothing(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(READING, state=SessionState.PAUSED)))
    expect(page.locator("#do-now")).to_contain_text("Paused")
    expect(page.locator("#entry")).to_be_hidden()


def test_an_open_dialog_keeps_the_keys(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    page.click("#note")
    page.fill("#ask-text", "hum")
    daemon.show(live(view(READING)))
    expect(page.locator("#entry")).to_be_visible()
    expect(page.locator("#ask-text")).to_be_focused()


@pytest.mark.parametrize("size", [(1280, 800), (1024, 600), (390, 844)])
def test_the_field_fits_the_page(open_page: OpenPage, daemon: FakeDaemon, size: tuple[int, int]) -> None:
    page = open_page(viewport={"width": size[0], "height": size[1]})
    daemon.refuse = "'5 ohm' is not in VU (0 VU = +4 dBu); write the number and VU"
    daemon.show(live(view(READING, text="Look straight at the pointer.", caution="Mains inside.")))
    page.fill("#entry-text", "5 ohm")
    page.keyboard.press("Enter")
    expect(page.locator("#entry-refused")).not_to_be_empty()
    field, actions = page.locator("#entry").bounding_box(), page.locator(".actions").bounding_box()
    assert field is not None
    assert actions is not None
    assert field["x"] + field["width"] <= size[0]
    apart = field["y"] + field["height"] <= actions["y"] or field["x"] + field["width"] <= actions["x"]
    assert apart, "the field and the buttons do not overlap"
