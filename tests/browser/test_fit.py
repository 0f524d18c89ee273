"""Before a session: whether the meters are good enough, and the reason that is asked for where one is not."""

from playwright.sync_api import Page, expect

from tests.browser.fake_daemon import FakeDaemon
from tests.browser.helpers import OpenPage, until

ROW = {
    "step": "level",
    "title": "Level",
    "part": "",
    "channel": "output",
    "meter": "bench meter",
    "level": "+4 dBu",
    "frequency": "1 kHz",
    "fit": "adequate",
    "ratio": 8.7,
    "counts": 6000.0,
    "why": "",
}
POOR = ROW | {"step": "trim", "fit": "not adequate", "ratio": 0.5, "why": "take a meter good to ± 3.5 mV"}


def fill(page: Page) -> None:
    for name in ("unit-model", "unit-serial", "operator"):
        page.fill(f"#{name}", "x")


def test_good_meters_are_told_in_a_line_and_ask_for_nothing(open_page: OpenPage, daemon: FakeDaemon) -> None:
    daemon.fits = [ROW, ROW | {"fit": "not known", "ratio": None, "counts": None}]
    page = open_page()
    expect(page.locator("#fit-summary")).to_have_text("Meters: 1 adequate, 1 not known")
    expect(page.locator("#override")).to_be_hidden()
    fill(page)
    page.click("#start-button")
    until(page, lambda: bool(daemon.begun))
    assert daemon.begun[0]["override"] == ""


def test_a_meter_that_is_not_good_enough_asks_for_a_reason(open_page: OpenPage, daemon: FakeDaemon) -> None:
    daemon.fits = [ROW, POOR]
    page = open_page()
    expect(page.locator("#fit-rows")).to_contain_text("take a meter good to ± 3.5 mV")
    expect(page.locator("#override")).to_be_visible()
    fill(page)
    page.click("#start-button")
    assert page.evaluate("document.getElementById('override').matches(':invalid')")
    assert daemon.begun == []
    page.fill("#override", "the good one is away")
    page.click("#start-button")
    until(page, lambda: bool(daemon.begun))
    assert daemon.begun[0]["override"] == "the good one is away"


def test_another_procedure_starts_with_nothing(open_page: OpenPage, daemon: FakeDaemon) -> None:
    daemon.fits = [POOR]
    page = open_page()
    expect(page.locator("#override")).to_be_visible()
    page.select_option("#procedure", "bad")
    expect(page.locator("#fit")).to_be_hidden()
    expect(page.locator("#override")).to_be_hidden()


def test_which_row_of_a_table_it_is_stands_beside_its_step(open_page: OpenPage, daemon: FakeDaemon) -> None:
    daemon.fits = [POOR | {"step": "response", "part": "10 kHz"}]
    expect(open_page().locator("#fit-rows b")).to_have_text("response 10 kHz")
