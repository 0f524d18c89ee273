"""A guard on the page: a buzz, large words and a shape; and the two ways of ending a session early."""

import pytest
from playwright.sync_api import Page, expect

from meterlog.accuracy import Verdict
from meterlog.procedure.view import SessionState
from tests.browser.fake_daemon import FakeDaemon
from tests.browser.fakes import audio, speech
from tests.browser.helpers import OpenPage, until, wait_for
from tests.browser.messages import LEVEL, WATCHING, alarmed, channel, live, trip, view
from tests.browser.test_layout import DESK, PHONE, SIDEWAYS, TABLET, box, open_at

BUZZES = "window.tones.filter(({hz}) => hz === 139).length"


def test_an_alarm_is_large_words_a_shape_and_red(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#number")).to_have_text("+3.65")
    expect(page.locator("#guard")).to_be_hidden()
    daemon.show(live(alarmed(tripped=False), channel(level_dbu=7.0)))
    expect(page.locator("#guard-word")).to_have_text("BEYOND THE LIMIT")
    expect(page.locator("#guard-name")).to_have_text("Emitter resistor")
    expect(page.locator("#guard-level")).to_have_text("+7.00 dBu, limit +6.00 dBu")
    expect(page.locator("#guard svg")).to_be_visible()
    expect(page.locator("#do-now")).to_contain_text("Turn the idle current down")
    daemon.show(live(alarmed(tripped=True), channel(level_dbu=7.0)))
    expect(page.locator("#guard-word")).to_have_text("TRIPPED")
    expect(page.locator("#go-on")).to_have_class("primary awaited")
    assert page.locator("#guard").evaluate("n => getComputedStyle(n).backgroundColor") == "rgb(168, 0, 15)"
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#guard")).to_be_hidden()


def test_an_overload_is_a_word(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(alarmed(tripped=True, overload=True)))
    expect(page.locator("#guard-level")).to_have_text("overload, limit +6.00 dBu")


@pytest.mark.parametrize("state", [SessionState.RUNNING, SessionState.PAUSED])
def test_the_buzz_sounds_as_long_as_the_alarm_stands(
    open_page: OpenPage, daemon: FakeDaemon, state: SessionState
) -> None:
    page = open_page(audio())
    page.click("#sound")
    daemon.show(live(view(LEVEL)))
    page.wait_for_timeout(500)
    assert page.evaluate(BUZZES) == 0
    daemon.show(live(alarmed(tripped=True, state=state), channel(level_dbu=7.0)))
    wait_for(page, f"{BUZZES} >= 3")
    daemon.show(live(view(LEVEL)))
    page.wait_for_timeout(700)
    count = page.evaluate(BUZZES)
    page.wait_for_timeout(700)
    assert page.evaluate(BUZZES) == count


def test_the_guards_that_watch_now_are_named_and_trips_are_counted(
    open_page: OpenPage, daemon: FakeDaemon
) -> None:
    page = open_page(speech())
    page.click("#speech")
    daemon.trips = [trip(1)]
    daemon.show(live(view(LEVEL, watching=WATCHING)))
    expect(page.locator("#watching li")).to_have_text(f"{WATCHING[0]} (✗ tripped 1×)")
    daemon.say(trip(2))
    expect(page.locator("#watching li")).to_have_text(f"{WATCHING[0]} (✗ tripped 2×)")
    wait_for(page, "window.said.some(([text]) => text === 'Emitter resistor: limit passed')")
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#guards")).to_be_hidden()


@pytest.mark.parametrize("size", [DESK, TABLET, PHONE])
def test_the_alarm_fits_and_can_be_read_from_afar(
    open_page: OpenPage, daemon: FakeDaemon, size: tuple[int, int]
) -> None:
    page = open_at(open_page, size)
    daemon.show(live(alarmed(tripped=True), channel(level_dbu=7.0), channel("panel", -20.0)))
    expect(page.locator("#guard")).to_be_in_viewport(ratio=1)
    expect(page.locator("#go-on")).to_be_in_viewport(ratio=1)
    assert page.evaluate(SIDEWAYS) <= 0
    word = box(page, "#guard-word")
    assert word["height"] >= 24
    assert box(page, "#number")["height"] > word["height"], "the level stays the largest thing"


@pytest.mark.parametrize("kind", ["break-off", "inoperable"])
def test_ending_early_wants_a_reason(page: Page, daemon: FakeDaemon, kind: str) -> None:
    daemon.show(live(view(LEVEL)))
    page.click(f"#{kind}")
    page.click("#ask-ok")
    expect(page.locator("#ask")).to_be_visible()
    page.click("#ask-cancel")
    assert daemon.actions == []
    page.click(f"#{kind}")
    page.fill("#ask-text", "no output at all")
    page.click("#ask-ok")
    until(page, lambda: bool(daemon.actions))
    assert daemon.actions == [{"kind": kind, "text": "no output at all", "place": None}]


def test_the_end_tells_the_condition_of_the_unit(page: Page, daemon: FakeDaemon) -> None:
    daemon.condition = {"word": "inoperable", "text": "no output at all"}
    daemon.show(live(alarmed(tripped=True)))
    expect(page.locator("#guard")).to_be_visible()
    daemon.show(live(view(LEVEL, state=SessionState.ENDED, verdict=Verdict.FAIL)))
    expect(page.locator("#end-condition")).to_have_text("inoperable: no output at all")
    expect(page.locator("body")).to_have_attribute("data-alarm", "")


def test_a_guard_whose_name_has_a_colon_is_counted_too(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL, watching=("Rail: upper: output never above +6 dBu",))))
    daemon.say(trip() | {"guard": "Rail: upper"})
    daemon.show(live(view(LEVEL, watching=("Rail: upper: output never above +6 dBu",))))
    expect(page.locator("#watching li")).to_contain_text("(✗ tripped 1×)")
