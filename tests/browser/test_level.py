"""The level at a glance: digits, way to go, window and marker, motion, and every state that is no number."""

from dataclasses import replace

import pytest
from playwright.sync_api import Page, expect

from meterlog.procedure.view import Direction, StepState
from tests.browser.fake_daemon import FakeDaemon
from tests.browser.messages import INSIDE, LEVEL, PEAK, PREPARE, channel, live, readings, view, volts


def at(page: Page, part: str) -> float:
    return float(page.locator(f"#scale {part}").evaluate("node => node.style.getPropertyValue('--at')"))


def test_digits_way_and_reason(page: Page, daemon: FakeDaemon) -> None:
    caution = "Keep the other hand off the chassis."
    daemon.show(live(view(LEVEL, caution=caution, text="Play the 1 kHz section.")))
    expect(page.locator("#number")).to_have_text("+3.65")
    expect(page.locator("#unit")).to_have_text("dBu")
    expect(page.locator("#distance")).to_have_text("▲ 0.35 dB up")
    expect(page.locator("#where-word")).to_have_text("below the window")
    expect(page.locator("#motion")).to_have_text("≈ moving")
    expect(page.locator("#why-not")).to_have_text(LEVEL.why_not)
    expect(page.locator("#do-now")).to_have_text(LEVEL.do_now)
    expect(page.locator("#step-text")).to_have_text("Play the 1 kHz section.")
    expect(page.locator("#caution")).to_have_text(f"Caution: {caution}")
    expect(page.locator("#dwell")).to_be_hidden()


def test_inside_the_window_the_shape_and_the_words_change(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#scale")).to_have_attribute("data-where", "low")
    shape = "node => getComputedStyle(node).clipPath"
    outside = page.locator("#scale .marker").evaluate(shape)
    daemon.show(live(view(INSIDE, step_state=StepState.SETTLING), channel(level_dbu=4.05)))
    expect(page.locator("#where-word")).to_have_text("inside the window")
    expect(page.locator("#distance")).to_have_text("● hold")
    expect(page.locator("#motion")).to_have_text("◔ settling")
    assert page.locator("#dwell").evaluate("node => node.value") == pytest.approx(0.6)
    assert page.locator("#scale .marker").evaluate(shape) != outside


def test_what_passes_is_drawn_and_said_where_a_guard_band_makes_it_less(
    page: Page, daemon: FakeDaemon
) -> None:
    short = replace(LEVEL, present=volts(3.8), accept_low=volts(3.85), accept_high=volts(4.15))
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#scale .passes")).to_be_hidden()
    expect(page.locator("#passes-word")).to_have_text("")
    daemon.show(live(view(short), channel(level_dbu=3.8)))
    expect(page.locator("#where-word")).to_have_text("inside the limits, within the guard band")
    expect(page.locator("#scale")).to_have_attribute("data-where", "short")
    expect(page.locator("#passes-word")).to_have_text("passes from +3.85 dBu to +4.15 dBu")
    assert at(page, ".window") < at(page, ".marker") < at(page, ".passes") < at(page, ".target")
    daemon.show(live(view(replace(LEVEL, nothing_left=True))))
    expect(page.locator("#passes-word")).to_contain_text("nothing passes")


def test_the_window_of_a_computed_result_is_on_the_scale_but_not_among_the_channel_s_levels(
    page: Page, daemon: FakeDaemon
) -> None:
    band = page.locator("#chart .band")
    daemon.show(live(view(LEVEL)))
    expect(band).not_to_have_attribute("height", "0")
    computed = replace(LEVEL, computed=True, accept_low=volts(3.85), accept_high=volts(4.15))
    daemon.show(live(view(computed)))
    expect(page.locator("#passes-word")).to_have_text("passes from +3.85 dBu to +4.15 dBu")
    expect(page.locator("#scale .passes")).to_be_visible()
    expect(page.locator("#where-word")).to_have_text("+3.65 dBu: below the window")
    expect(band).to_have_attribute("height", "0")


def test_down_is_said_when_the_level_must_fall(page: Page, daemon: FakeDaemon) -> None:
    high = replace(LEVEL, present=volts(4.6), distance=0.6, direction=Direction.DOWN)
    daemon.show(live(view(high), channel(level_dbu=4.6)))
    expect(page.locator("#distance")).to_have_text("▼ 0.60 dB down")
    expect(page.locator("#where-word")).to_have_text("above the window")
    assert at(page, ".marker") > 0.7


def test_window_target_and_marker_lie_in_order(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#scale")).to_be_visible()
    assert 0 < at(page, ".marker") < at(page, ".window") < at(page, ".target") < at(page, ".label.high") < 1
    labels = page.locator("#scale .label").all_inner_texts()
    assert labels == ["+3.75", "+4.00 dBu", "+4.25"]


def test_while_a_peak_is_sought_the_scale_shows_nearness(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(PEAK), channel(level_dbu=1.2)))
    expect(page.locator("#scale .label.high")).to_have_text("nearest so far")
    expect(page.locator("#scale .window")).to_be_hidden()
    assert at(page, ".marker") == pytest.approx(0.7)


def test_a_step_without_a_channel_is_words_only(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(PREPARE, step_state=StepState.WAITING)))
    expect(page.locator("#do-now")).to_be_visible()
    expect(page.locator("#digits")).to_be_hidden()
    expect(page.locator("#scale")).to_be_hidden()
    expect(page.locator("#go-on")).to_have_class("primary awaited")


@pytest.mark.parametrize("state", ["overload", "underload", "blank", "invalid"])
def test_what_is_no_number_is_a_word(page: Page, daemon: FakeDaemon, state: str) -> None:
    gone = replace(LEVEL, present=None, distance=None, direction=Direction.NONE)
    daemon.show(live(view(gone), channel(value=None, text="", state=state)))
    expect(page.locator("#number")).to_have_text(state)
    expect(page.locator("#unit")).to_have_text("")
    expect(page.locator("#scale .marker")).to_be_hidden()


@pytest.mark.parametrize(
    ("link", "age_s", "words"), [("stale", 3.2, "stale 3.2 s"), ("lost", 240, "lost 4 min")]
)
def test_an_old_level_is_grey_and_says_so(
    page: Page, daemon: FakeDaemon, link: str, age_s: float, words: str
) -> None:
    colour = "node => getComputedStyle(node).color"
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#number")).to_have_text("+3.65")
    fresh = page.locator("#number").evaluate(colour)
    daemon.show(live(view(LEVEL), channel(link=link, age_s=age_s, link_text="the line is gone")))
    expect(page.locator("#channel-state")).to_have_text(words)
    assert page.locator("#number").evaluate(colour) != fresh
    strip = page.locator("#channels li")
    expect(strip).to_contain_text(link)
    expect(strip).to_contain_text("the line is gone")


def test_hold_on_the_meter_is_said(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL), channel(flags=["hold"])))
    expect(page.locator("#channel-state")).to_have_text("hold on the meter")
    expect(page.locator("#channels li")).to_contain_text("hold on the meter")


def test_the_strip_shows_every_channel(page: Page, daemon: FakeDaemon) -> None:
    panel = channel("panel", value=None, text="", state="overload", low_battery=True)
    daemon.show(live(view(LEVEL), channel(), channel("input", -16.0), panel))
    strip = page.locator("#channels li")
    expect(strip).to_have_count(3)
    expect(strip.nth(0)).to_have_class("looked-at")
    expect(strip.nth(1)).to_contain_text("-16.00 dBu")
    expect(strip.nth(2)).to_contain_text("overload")
    expect(strip.nth(2)).to_contain_text("battery low")


def test_texts_are_never_markup(page: Page, daemon: FakeDaemon) -> None:
    trap = "<img src=x onerror=alert(1)>"
    daemon.show(
        live(view(replace(LEVEL, do_now=trap), caution=trap), channel(trap, link="lost", link_text=trap))
    )
    expect(page.locator("#do-now")).to_have_text(trap)
    expect(page.locator("main img")).to_have_count(0)


def test_the_chart_draws_the_last_minute_and_breaks_at_an_overload(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#work")).to_be_visible()
    trace = readings(*(3.0 + index / 200 for index in range(130)))
    trace["readings"][60] |= {"value": None, "shown": None, "state": "overload"}
    daemon.say(trace)
    expect(page.locator("#chart .top")).to_have_text("highest 3.65 dBu")
    expect(page.locator("#chart .bottom")).to_have_text("lowest 3.04 dBu")  # the first 4.5 s have moved out
    path = page.locator("#chart .line").get_attribute("d") or ""
    assert path.count("M") == 2
    assert path.count("L") == 118


def test_readings_of_other_channels_are_not_drawn(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#work")).to_be_visible()
    daemon.say(readings(1.0, 2.0, name="input"))
    daemon.say(readings(3.0, 3.1))
    expect(page.locator("#chart .top")).to_have_text("highest 3.10 dBu")
    expect(page.locator("#chart .bottom")).to_have_text("lowest 3.00 dBu")
