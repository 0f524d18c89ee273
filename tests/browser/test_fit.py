"""Before a session: whether the meters are good enough, and the reason that is asked for where one is not."""

import pytest
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
    "accepted_percent": 100.0,
    "profile": "",
    "supposed": "",
    "why": "",
}
POOR = ROW | {"step": "trim", "fit": "not adequate", "ratio": 0.5, "why": "take a meter good to ± 3.5 mV"}


def fill(page: Page) -> None:
    for name in ("unit-model", "unit-serial", "operator"):
        page.fill(f"#{name}", "x")


def test_good_meters_are_told_in_a_line_and_ask_for_nothing(open_page: OpenPage, daemon: FakeDaemon) -> None:
    daemon.fit.rows = [ROW, ROW | {"fit": "not known", "ratio": None, "counts": None}]
    page = open_page()
    expect(page.locator("#fit-summary")).to_have_text("Meters: 1 adequate, 1 not known")
    expect(page.locator("#override")).to_be_hidden()
    fill(page)
    page.click("#start-button")
    until(page, lambda: bool(daemon.begun))
    assert daemon.begun[0]["override"] == ""


def test_a_meter_that_is_not_good_enough_asks_for_a_reason(open_page: OpenPage, daemon: FakeDaemon) -> None:
    daemon.fit.rows = [ROW, POOR]
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


def test_what_is_taken_for_a_computed_value_and_the_profile_are_told(
    open_page: OpenPage, daemon: FakeDaemon
) -> None:
    match = {"step": "match", "channel": "right, left", "level": "0 dB", "frequency": None, "counts": None}
    told = {"supposed": "supposed at +4 dBu", "profile": "corrected by +0.10 dB", "why": "large"}
    daemon.fit.rows = [ROW | match | told]
    page = open_page()
    page.locator("#fit summary").click()
    row = page.locator("#fit-rows li")
    expect(row).to_contain_text("match right, left, 0 dB: adequate (ratio 8.7)")
    expect(row.locator("small")).to_have_text("supposed at +4 dBu; corrected by +0.10 dB; large")


def test_another_procedure_starts_with_nothing(open_page: OpenPage, daemon: FakeDaemon) -> None:
    daemon.fit.rows = [POOR]
    page = open_page()
    expect(page.locator("#override")).to_be_visible()
    page.select_option("#procedure", "bad")
    expect(page.locator("#fit")).to_be_hidden()
    expect(page.locator("#override")).to_be_hidden()


def test_which_row_of_a_table_it_is_stands_beside_its_step(open_page: OpenPage, daemon: FakeDaemon) -> None:
    daemon.fit.rows = [POOR | {"step": "response", "part": "10 kHz"}]
    expect(open_page().locator("#fit-rows b")).to_have_text("response 10 kHz")


def test_the_temperature_of_the_bench_is_asked_about_and_begun_with(
    open_page: OpenPage, daemon: FakeDaemon
) -> None:
    daemon.fit.rows = [ROW]
    page = open_page()
    expect(page.locator("#fit-summary")).to_have_text("Meters: 1 adequate")
    assert set(daemon.fit.at) == {""}
    daemon.fit.rows = [POOR]
    page.fill("#temperature", "31.5")
    page.press("#temperature", "Tab")
    expect(page.locator("#fit-summary")).to_have_text("Meters at 31.5 °C: 1 not adequate")
    assert daemon.fit.at[-1] == "31.5"
    page.fill("#override", "the good one is away")
    page.fill("#temperature", "32")
    page.press("#temperature", "Tab")
    expect(page.locator("#fit-summary")).to_have_text("Meters at 32 °C: 1 not adequate")
    expect(page.locator("#override")).to_have_value("the good one is away")
    fill(page)
    page.click("#start-button")
    until(page, lambda: bool(daemon.begun))
    assert daemon.begun[0]["temperature_c"] == 32


@pytest.mark.parametrize("typed", ["900", "-300", "1e", "--"])
def test_what_is_no_temperature_is_told_beside_it_and_not_asked(
    open_page: OpenPage, daemon: FakeDaemon, typed: str
) -> None:
    daemon.fit.rows = [ROW]
    page = open_page()
    expect(page.locator("#fit-summary")).to_have_text("Meters: 1 adequate")
    page.click("#temperature")
    page.keyboard.type(typed)
    page.keyboard.press("Tab")
    expect(page.locator("#fit-error")).to_have_text(
        "No temperature of a bench: write a number of degC, -20 to 60."
    )
    expect(page.locator("#fit")).to_be_hidden()
    assert set(daemon.fit.at) == {""}
    fill(page)
    page.click("#start-button")
    assert daemon.begun == []
    page.fill("#temperature", "23")
    page.press("#temperature", "Tab")
    expect(page.locator("#fit-summary")).to_have_text("Meters at 23 °C: 1 adequate")
    expect(page.locator("#fit-error")).to_have_text("")


def test_a_fit_that_the_daemon_refuses_says_why(open_page: OpenPage, daemon: FakeDaemon) -> None:
    daemon.fit.refused = {"what": "It cannot be judged.", "where": "two.toml", "do": "Mend it."}
    page = open_page()
    expect(page.locator("#fit-error")).to_have_text("It cannot be judged. (two.toml) Mend it.")
