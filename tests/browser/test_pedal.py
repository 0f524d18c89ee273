"""Which key presses are the foot switch: any key or the bound one, once for a press, never what is typed."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.fake_daemon import FakeDaemon
from tests.browser.helpers import AFTER_DEBOUNCE_MS, press, until
from tests.browser.messages import PREPARE, live, view

DISPATCH = """([repeat, times]) => {
  for (let i = 0; i < times; i++)
    window.dispatchEvent(new KeyboardEvent("keydown", {key: "b", code: "KeyB", repeat, cancelable: true}));
}"""


@pytest.fixture(autouse=True)
def waiting(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(PREPARE)))
    expect(page.locator("#go-on")).to_be_visible()


@pytest.mark.parametrize("key", ["b", "1", " ", "Enter", "PageDown", "ArrowRight"])
def test_any_ordinary_key_goes_on(page: Page, daemon: FakeDaemon, key: str) -> None:
    press(page, key)
    until(page, lambda: len(daemon.actions) == 1)
    assert daemon.actions[0]["kind"] == "go-on"
    expect(page.locator("#reply")).to_have_attribute("data-accepted", "true")


@pytest.mark.parametrize("key", ["Shift", "Tab", "Escape", "F6", "Control+b", "Alt+b"])
def test_keys_that_serve_the_browser_do_not(page: Page, daemon: FakeDaemon, key: str) -> None:
    press(page, key)
    page.evaluate("document.activeElement.blur()")
    press(page, "b")  # and this one does: so the first had its time to arrive
    until(page, lambda: bool(daemon.actions))
    assert len(daemon.actions) == 1


def test_a_bouncing_contact_counts_once(page: Page, daemon: FakeDaemon) -> None:
    page.wait_for_timeout(AFTER_DEBOUNCE_MS)
    page.evaluate(DISPATCH, [False, 5])
    press(page, "b")
    until(page, lambda: len(daemon.actions) >= 2)
    assert len(daemon.actions) == 2


def test_a_key_held_down_counts_once(page: Page, daemon: FakeDaemon) -> None:
    page.keyboard.down("b")
    page.wait_for_timeout(AFTER_DEBOUNCE_MS)
    page.evaluate(DISPATCH, [True, 5])
    page.keyboard.down("b")  # the browser marks it as a repeat itself
    page.keyboard.up("b")
    press(page, "b")
    until(page, lambda: len(daemon.actions) >= 2)
    assert len(daemon.actions) == 2


def test_what_is_typed_into_a_field_is_not_the_pedal(page: Page, daemon: FakeDaemon) -> None:
    page.click("#note")
    page.locator("#ask-text").press_sequentially("tape b 7", delay=AFTER_DEBOUNCE_MS)
    page.keyboard.press("Enter")
    until(page, lambda: bool(daemon.actions))
    assert daemon.actions == [{"kind": "note", "text": "tape b 7", "place": None}]


def test_a_pedal_that_types_a_space_does_not_press_the_last_button_again(
    page: Page, daemon: FakeDaemon
) -> None:
    page.click("#pause")
    press(page, " ")
    page.click("#note")
    page.click("#ask-cancel")
    press(page, " ")
    until(page, lambda: len(daemon.actions) >= 3)
    assert [action["kind"] for action in daemon.actions] == ["pause", "go-on", "go-on"]
    assert page.locator("#ask").is_hidden()


def test_enter_on_a_button_reached_by_tab_is_the_button(page: Page, daemon: FakeDaemon) -> None:
    page.locator("#pause").focus()
    press(page, "Enter")
    until(page, lambda: bool(daemon.actions))
    assert [action["kind"] for action in daemon.actions] == ["pause"]


def test_a_bound_key_is_the_only_pedal_and_is_remembered(page: Page, daemon: FakeDaemon) -> None:
    page.click("#pedal-setup")
    page.get_by_role("row", name="Go on").get_by_role("button", name="Bind").click()
    page.keyboard.press("c")
    expect(page.get_by_role("row", name="Go on").locator(".key")).to_have_text("C")
    page.click("#pedal-close")
    page.reload()
    expect(page.locator("#go-on")).to_be_visible()
    press(page, "b")
    press(page, "c")
    until(page, lambda: bool(daemon.actions))
    page.wait_for_timeout(AFTER_DEBOUNCE_MS)
    assert len(daemon.actions) == 1


def test_a_second_switch_can_redo(page: Page, daemon: FakeDaemon) -> None:
    page.click("#pedal-setup")
    page.get_by_role("row", name="Redo").get_by_role("button", name="Bind").click()
    page.keyboard.press("PageUp")
    page.click("#pedal-close")
    press(page, "PageUp")
    until(page, lambda: bool(daemon.actions))
    assert daemon.actions == [{"kind": "redo", "text": "by foot switch", "place": None}]


def test_a_refused_press_says_why(page: Page, daemon: FakeDaemon) -> None:
    daemon.refuse = "The level has not settled yet."
    press(page, "b")
    expect(page.locator("#reply")).to_have_text("The level has not settled yet.")
    expect(page.locator("#reply")).to_have_attribute("data-accepted", "false")


def test_a_restarted_daemon_has_a_new_token_and_the_press_still_counts_once(
    page: Page, daemon: FakeDaemon
) -> None:
    press(page, "b")
    until(page, lambda: len(daemon.actions) == 1)
    daemon.token = "token-2"
    press(page, "b")
    until(page, lambda: len(daemon.actions) == 2)
    assert daemon.tokens == ["token-1", "token-1", "token-2"]


def test_the_page_says_when_the_pedal_cannot_be_heard(page: Page) -> None:
    expect(page.locator("#pedal-state")).to_have_text("● pedal ready")
    page.evaluate("document.hasFocus = () => false")
    expect(page.locator("#pedal-state")).to_contain_text("pedal not heard")
