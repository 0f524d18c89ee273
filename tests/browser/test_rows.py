"""A table on the page: its rows can be taken again and left out, and only there."""

from playwright.sync_api import Page, expect

from tests.browser.fake_daemon import FakeDaemon
from tests.browser.helpers import until
from tests.browser.messages import LEVEL, live, view


def test_other_steps_have_no_row_buttons(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#skip")).to_be_visible()
    expect(page.locator("#redo-row")).to_be_hidden()
    expect(page.locator("#skip-row")).to_be_hidden()


def test_the_last_row_is_redone_by_one_press_and_one_left_out_with_a_reason(
    page: Page, daemon: FakeDaemon
) -> None:
    message = live(view(LEVEL))
    message["view"]["pattern"] = "table"
    daemon.show(message)
    page.click("#redo-row")
    page.click("#skip-row")
    page.fill("#ask-text", "no tone at 20 kHz")
    page.click("#ask-ok")
    until(page, lambda: len(daemon.actions) == 2)
    assert daemon.actions == [
        {"kind": "redo-row", "text": "", "place": None},
        {"kind": "skip-row", "text": "no tone at 20 kHz", "place": None},
    ]
