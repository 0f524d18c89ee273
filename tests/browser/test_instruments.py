"""Finding instruments on the page: ports that come and go, a look at one, the entry for the bench file."""

from typing import Any

import pytest
from playwright.sync_api import Locator, Page, Route, expect

from tests.browser.fake_daemon import FakeDaemon
from tests.browser.fake_instruments import FOREIGN, port
from tests.browser.helpers import OpenPage, module, until
from tests.browser.messages import PREPARE, channel, live, view

pytestmark = pytest.mark.browser


@pytest.fixture
def finding(page: Page) -> Page:
    """The page with the view of instruments open."""
    page.click("#find-instruments")
    expect(page.locator("#ports li")).to_have_count(2)
    return page


def rows(looks: list[list[str]], page: Page, times: list[float]) -> list[tuple[str, str]]:
    """(device, state) after looks at these devices at these times."""
    ports = [[port(device) for device in devices] for devices in looks]
    found: list[Any] = module(
        page,
        "ports.js",
        "a.looks.reduce((rows, ports, index) => m.follow(rows, ports, a.times[index]), null)",
        {"looks": ports, "times": times},
    )
    return [(row["port"]["device"], row["state"]) for row in found]


@pytest.mark.parametrize(
    ("looks", "times", "shown"),
    [
        ([["a", "b"]], [0], [("a", ""), ("b", "")]),
        ([["a", "b"], ["a"]], [0, 1], [("a", ""), ("b", "gone")]),
        ([["a", "b"], ["a"], ["a"]], [0, 1, 2], [("a", ""), ("b", "gone")]),
        ([["a", "b"], ["a"], ["a", "b"]], [0, 1, 2], [("a", ""), ("b", "came")]),
        ([["a", "b"], ["a"], ["a", "c"]], [0, 1, 2], [("a", ""), ("c", "came")]),
        ([["a"], ["a", "b"], ["a"]], [0, 1, 2], [("a", ""), ("b", "taken")]),
        ([["a"], ["a", "b"], ["a", "b"], ["a"]], [0, 1, 9, 10], [("a", ""), ("b", "gone")]),
        ([[], ["a"]], [0, 1], [("a", "came")]),
    ],
)
def test_ports_are_followed(
    page: Page, looks: list[list[str]], times: list[float], shown: list[tuple[str, str]]
) -> None:
    assert rows(looks, page, times) == shown


def test_ports_are_listed_and_the_benchs_own_are_left_alone(page: Page, daemon: FakeDaemon) -> None:
    daemon.instruments.held = [{"address": "/dev/ttyUSB1", "instrument": "bench meter"}]
    page.click("#find-instruments")
    expect(page.locator("#ports li").nth(0).get_by_role("button")).to_be_visible()
    own = page.locator("#ports li").nth(1)
    expect(own).to_contain_text("/dev/serial/by-id/usb-A")
    expect(own).to_contain_text("read by this bench: bench meter")
    expect(own.get_by_role("button")).to_have_count(0)


def test_the_lead_that_was_pulled_says_so(finding: Page, daemon: FakeDaemon) -> None:
    ports = daemon.instruments.ports
    daemon.instruments.ports = ports[:1]
    expect(finding.locator("#ports")).to_contain_text("✗ unplugged")
    daemon.instruments.ports = ports
    expect(finding.locator("#ports li").nth(1)).to_contain_text("✓ this one was plugged in")
    daemon.instruments.ports = ports[:1]
    expect(finding.locator("#ports")).to_contain_text("✗")


def test_a_meter_is_in_the_bench_file_by_three_presses(finding: Page, daemon: FakeDaemon) -> None:
    finding.locator("#ports li").nth(0).get_by_role("button").click()
    expect(finding.locator(".known")).to_have_text("✓ fs9721, 2400 baud 8N1")
    expect(finding.locator("#found")).to_contain_text("Shows: 1.500 V, dc, voltage")
    expect(finding.locator("#found pre").last).to_have_text("17 20   . ")
    finding.fill("input[name=channel]", "panel")
    finding.get_by_role("button", name="Add to /home/me/bench.toml").click()
    expect(finding.locator("#found")).to_contain_text("Start the daemon anew")
    expect(finding.locator(".entry-text")).to_contain_text('name = "panel"')
    assert daemon.instruments.looks == [{"address": "/dev/ttyUSB0", "listen_only": False}]
    assert daemon.instruments.entries[0] == {"address": "/dev/ttyUSB0", "match": 0, "write": False}
    written = [entry for entry in daemon.instruments.entries if entry["write"]]
    assert [(entry["channel"], entry["function"], entry["coupling"]) for entry in written] == [
        ("panel", "voltage", "dc")
    ]


def test_what_the_daemon_chose_does_not_come_under_the_fingers(finding: Page) -> None:
    """Its choice is late; the cursor stands in a field by then, and the first letter is about to be typed."""
    channel = _standing_in_channel(finding)
    finding.keyboard.insert_text("panel")
    expect(channel).to_have_value("panel")
    channel.blur()
    expect(channel).to_have_value("panel")


def test_a_field_left_without_a_letter_has_what_the_daemon_chose(finding: Page) -> None:
    channel = _standing_in_channel(finding)
    expect(channel).to_have_value("")
    channel.blur()
    expect(channel).to_have_value("fs9721")


def _standing_in_channel(finding: Page) -> Locator:
    """The cursor stands in the field when the daemon's choice comes."""
    held: list[Route] = []

    def hold_first(route: Route) -> None:
        if held:
            route.continue_()
        held.append(route)

    finding.route("**/api/instruments/entry", hold_first)
    finding.locator("#ports li").nth(0).get_by_role("button").click()
    channel = finding.locator("input[name=channel]")
    channel.focus()
    until(finding, lambda: bool(held))
    held[0].continue_()
    expect(finding.locator("input[name=name]")).not_to_have_value("")
    return channel


def test_a_function_without_coupling_has_none(finding: Page, daemon: FakeDaemon) -> None:
    finding.locator("#ports li").nth(0).get_by_role("button").click()
    finding.select_option("select[name=function]", "resistance")
    expect(finding.locator("select[name=coupling]")).to_be_disabled()
    until(finding, lambda: daemon.instruments.entries[-1].get("function") == "resistance")
    assert daemon.instruments.entries[-1]["coupling"] == ""


def test_what_is_wrong_is_shown_with_the_bytes_and_what_to_do(finding: Page, daemon: FakeDaemon) -> None:
    daemon.instruments.finding = FOREIGN
    finding.fill("#address", "TCPIP::192.0.2.1::5025::SOCKET")
    finding.check("#listen-only")
    finding.locator("#address-form").get_by_role("button").click()
    expect(finding.locator("#found .error")).to_have_text("✗ bytes came, but no driver recognises them")
    expect(finding.locator("#found .todo li")).to_have_text(["Look up the speed.", "Look at the raw bytes."])
    expect(finding.locator("#found figure")).to_have_count(1)
    expect(finding.locator("#found figure")).to_contain_text("Heard at 9600 baud 8N1")
    assert daemon.instruments.looks[0]["listen_only"] is True
    expect(finding.locator(".bench-entry")).to_have_count(0)


def test_without_a_bench_file_the_text_is_there_to_copy(page: Page, daemon: FakeDaemon) -> None:
    daemon.instruments.bench_file = None
    page.click("#find-instruments")
    page.locator("#ports li").nth(0).get_by_role("button").click()
    expect(page.locator("#found")).to_contain_text("copy the text")
    expect(page.locator(".bench-entry button")).to_have_count(0)


def test_a_session_takes_the_page_back(finding: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(PREPARE)))
    expect(finding.locator("body")).to_have_attribute("data-mode", "work")
    asked = daemon.instruments.asked
    finding.wait_for_timeout(1600)
    assert daemon.instruments.asked <= asked + 1
    daemon.show(live(None))
    expect(finding.locator("#instruments")).to_be_hidden()


def test_back_is_back(finding: Page) -> None:
    finding.click("#instruments-back")
    expect(finding.locator("#start")).to_be_visible()
    expect(finding.locator("#instruments")).to_be_hidden()


def test_nothing_is_cut_off_on_a_small_screen(open_page: OpenPage, daemon: FakeDaemon) -> None:
    daemon.instruments.ports = [port("/dev/ttyUSB0", "/dev/serial/by-id/usb-" + "long_name_" * 8 + "-port0")]
    page = open_page(viewport={"width": 390, "height": 844})
    page.click("#find-instruments")
    page.locator("#ports").get_by_role("button").click()
    expect(page.locator(".known")).to_be_visible()
    expect(page.locator(".entry-text")).to_contain_text("name")
    until(page, lambda: page.evaluate("document.documentElement.scrollWidth") <= 390)


def test_what_an_instrument_says_stands_with_its_channel(page: Page, daemon: FakeDaemon) -> None:
    said = {"remark": '-222,"Data out of range"', "remarks": 3}
    daemon.show(live(None, channel(**said), channel("panel")))
    expect(page.locator("#start-channels li")).to_have_count(2)
    output, panel = page.locator("#start-channels li").all()
    expect(output.locator(".remark")).to_have_text('⚠ says (message 3): -222,"Data out of range"')
    expect(panel.locator(".remark")).to_have_count(0)
