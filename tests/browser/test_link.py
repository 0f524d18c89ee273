"""The page's link to the daemon: going quiet, coming back, and nothing announced being missed."""

from playwright.sync_api import Page, expect

from tests.browser.fake_daemon import FakeDaemon
from tests.browser.helpers import until
from tests.browser.messages import LEVEL, channel, live, settled, stored, view

WATCH_NUMBER = """() => {
  window.numbers = [];
  const number = document.getElementById("number");
  new MutationObserver(() => window.numbers.push(number.textContent)).observe(number, { childList: true });
}"""


def test_a_silent_daemon_leaves_old_digits_grey_struck_and_named(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#daemon-state")).to_have_text("● live")
    expect(page.locator("#no-link")).to_be_hidden()
    daemon.silent = True
    expect(page.locator("#no-link")).to_contain_text("No link to the daemon")
    expect(page.locator("#daemon-state")).to_have_text("✗ no link")
    expect(page.locator("#digits")).to_have_css("text-decoration-line", "line-through")
    daemon.silent = False
    expect(page.locator("#no-link")).to_be_hidden()
    expect(page.locator("#digits")).to_have_css("text-decoration-line", "none")


def test_a_socket_that_stays_open_and_silent_is_given_up(page: Page, daemon: FakeDaemon) -> None:
    until(page, lambda: daemon.connections == 1)
    daemon.silent = True
    until(page, lambda: daemon.connections >= 2)
    daemon.silent = False
    expect(page.locator("#daemon-state")).to_have_text("● live")


def test_a_dropped_page_connects_again_and_counts_from_a_new_beginning(
    page: Page, daemon: FakeDaemon
) -> None:
    daemon.sequence = 1000
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#number")).to_have_text("+3.65")
    daemon.drop_pages()
    daemon.sequence = 0  # as after a restart
    until(page, lambda: daemon.connections == 2)
    daemon.show(live(view(LEVEL), channel(level_dbu=3.7)))
    expect(page.locator("#number")).to_have_text("+3.70")


def test_a_message_out_of_order_is_dropped(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#number")).to_have_text("+3.65")
    expect(page.locator("#session-name")).to_contain_text("TR-2 no. 17")
    page.evaluate(WATCH_NUMBER)
    daemon.say(live(view(LEVEL), channel(level_dbu=-60.0), sequence=1))
    daemon.show(live(view(LEVEL), channel(level_dbu=3.7)))  # arrives after it
    expect(page.locator("#number")).to_have_text("+3.70")
    assert page.evaluate("window.numbers") == ["+3.70"]


def test_values_stored_while_the_page_was_away_appear(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#session-name")).to_contain_text("TR-2 no. 17")
    daemon.say(stored(1, 4.01))
    expect(page.locator("#stored li")).to_have_count(1)
    daemon.record = [settled(1, 4.01), settled(2, 4.22)]
    daemon.drop_pages()
    expect(page.locator("#stored li").first).to_contain_text("+4.22 dBu")


def test_a_gap_in_the_numbers_is_fetched_from_the_record(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#session-name")).to_contain_text("TR-2 no. 17")
    daemon.record = [settled(1, 4.01), settled(2, 4.22), settled(3, 4.33)]
    daemon.say(stored(3, 4.33))
    expect(page.locator("#stored li")).to_have_count(3)


def test_nothing_is_shown_as_stored_before_the_daemon_says_so(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL), stored={"pending": 2, "error": "disk full"}))
    expect(page.locator("#not-stored")).to_have_text("Not stored yet (2 waiting): disk full")
    expect(page.locator("#stored li")).to_have_count(0)
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#not-stored")).to_be_hidden()


def test_a_message_that_is_no_json_is_said_and_the_next_is_read(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    daemon.say('{"type":"live","value":NaN}')
    expect(page.locator("#alarm")).to_contain_text("cannot be read")
    daemon.show(live(view(LEVEL), channel(level_dbu=3.7)))
    expect(page.locator("#number")).to_have_text("+3.70")


def test_an_alarm_stays_until_it_is_seen(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    daemon.say({"type": "alarm", "text": "panel above 250 mV"})
    expect(page.locator("#alarm")).to_contain_text("panel above 250 mV")
    page.click("#alarm-seen")
    expect(page.locator("#alarm")).to_be_hidden()


def test_the_page_says_that_it_is_alive(page: Page, daemon: FakeDaemon) -> None:
    until(page, lambda: len(daemon.heard) >= 2)
    assert daemon.heard[:2] == [{"type": "alive"}] * 2


def test_bench_controls_are_offered_only_beside_a_simulated_bench(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#session-name")).to_contain_text("TR-2")
    expect(page.locator("#bench-toggle")).to_be_hidden()
    daemon.simulate_url = f"{daemon.url}/icon.svg"  # anything that can be framed
    page.reload()
    page.click("#bench-toggle")
    expect(page.locator("#bench-frame")).to_be_visible()
    assert page.locator("#bench-frame").get_attribute("src") == daemon.simulate_url
    page.click("#bench-toggle")
    expect(page.locator("#bench-panel")).to_be_hidden()
