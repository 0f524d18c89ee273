"""What is heard: only after a press, only what the daemon said, each meaning by a sound of its own."""

from itertools import pairwise

import pytest
from playwright.sync_api import Page, expect

from meterlog.procedure.view import SessionState
from tests.browser.fake_daemon import FakeDaemon
from tests.browser.fakes import WAKE_LOCK, audio, speech
from tests.browser.helpers import OpenPage, press, until, wait_for
from tests.browser.messages import INSIDE, LEVEL, PEAK, PREPARE, channel, live, stored, view

TEMPO_HZ = 740
REFERENCE_HZ = 622
STORED_HZ = [784, 1175]
CLICK_HZ = 1850
ALARM_HZ = 98
NO_LINK_HZ = 147


@pytest.fixture
def page(open_page: OpenPage) -> Page:
    return open_page(audio())


def heard(page: Page) -> list[float]:
    tones: list[float] = page.evaluate("window.tones.map(tone => tone.hz)")
    return tones


def hear(page: Page, hz: float) -> None:
    until(page, lambda: hz in heard(page))


def forget(page: Page) -> None:
    page.evaluate("window.tones.length = 0")


def turn_on(page: Page) -> None:
    page.click("#sound")
    expect(page.locator("#sound-state")).to_have_text("♪ sound on")
    forget(page)


def test_silent_until_a_person_turns_it_on_then_a_test_beep(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    daemon.say(stored(1))
    expect(page.locator("#stored li")).to_have_count(1)
    expect(page.locator("#sound-state")).to_have_text("✗ sound off")
    assert heard(page) == []
    page.click("#sound")
    hear(page, 880)
    expect(page.locator("#sound-state")).to_have_text("♪ sound on")
    expect(page.locator("#sound")).to_have_text("Mute")


def test_beginning_a_session_turns_the_sound_on(page: Page) -> None:
    for field in ("#unit-model", "#unit-serial", "#operator"):
        page.fill(field, "x")
    page.click("#start-button")
    hear(page, 880)


def test_stored_sounds_only_after_the_daemon_said_stored(page: Page, daemon: FakeDaemon) -> None:
    turn_on(page)
    daemon.show(live(view(INSIDE)))
    hear(page, REFERENCE_HZ)
    assert not set(STORED_HZ) & set(heard(page))
    daemon.say(stored(1))
    hear(page, STORED_HZ[1])
    assert [hz for hz in heard(page) if hz in STORED_HZ] == STORED_HZ


def test_an_accepted_press_clicks_and_a_refused_one_does_not(page: Page, daemon: FakeDaemon) -> None:
    turn_on(page)
    daemon.show(live(view(PREPARE)))
    expect(page.locator("#go-on")).to_be_visible()
    press(page, "b")
    hear(page, CLICK_HZ)
    forget(page)
    daemon.refuse = "not now"
    press(page, "b")
    hear(page, 233)
    assert CLICK_HZ not in heard(page)


def test_the_beat_of_a_peak_quickens_with_nearness(page: Page, daemon: FakeDaemon) -> None:
    turn_on(page)
    gaps = {}
    for nearness in (0.5, 0.9):
        message = view(PEAK)
        shown = live(message)
        shown["view"]["guide"]["cue"]["amount"] = nearness
        daemon.show(shown)
        expect(page.locator("#scale .marker")).to_have_attribute("style", f"--at: {nearness};")
        forget(page)
        wait_for(page, "window.tones.length >= 4")
        starts = page.evaluate("window.tones.map(tone => tone.at)")
        assert set(heard(page)) == {TEMPO_HZ}
        gaps[nearness] = min(later - earlier for earlier, later in pairwise(starts))
    assert gaps[0.9] < 0.7 * gaps[0.5]


def test_a_level_below_its_target_sounds_below_the_reference(page: Page, daemon: FakeDaemon) -> None:
    turn_on(page)
    daemon.show(live(view(LEVEL)))
    wait_for(page, "window.tones.length >= 4")
    reference, moving = heard(page)[:2]
    assert reference == REFERENCE_HZ
    assert moving < reference


def test_a_newer_level_replaces_pulses_that_have_not_begun(page: Page, daemon: FakeDaemon) -> None:
    """Each message brings another pitch; nearly every pulse heard must be the one of its own moment."""
    turn_on(page)
    shown = live(view(LEVEL))
    for number in range(12):
        shown["view"]["guide"]["cue"]["amount"] = -0.9 + 0.05 * number
        daemon.show(shown)
        page.wait_for_timeout(100)
    tones = page.evaluate("window.tones")
    references = [tone["at"] for tone in tones if tone["hz"] == REFERENCE_HZ]
    telling = [tone["hz"] for tone in tones if tone["hz"] != REFERENCE_HZ]
    assert telling == sorted(telling), "no older level after a newer one"
    assert len(set(telling)) > 3
    assert all(later - earlier > 0.19 for earlier, later in pairwise(references)), "none sounds twice"


def test_a_chime_begins_without_waiting_and_ends_at_once(page: Page, daemon: FakeDaemon) -> None:
    turn_on(page)
    slow = view(PEAK)
    shown = live(slow)
    shown["view"]["guide"]["cue"]["amount"] = 0.0
    daemon.show(shown)
    hear(page, TEMPO_HZ)
    daemon.show(live(view(INSIDE)))
    hear(page, REFERENCE_HZ)
    tones = page.evaluate("window.tones")
    chime_s = min(tone["at"] for tone in tones if tone["hz"] == REFERENCE_HZ)
    beeps = [tone["at"] for tone in tones if tone["hz"] == TEMPO_HZ and tone["at"] < chime_s]
    assert max(beeps) <= chime_s
    assert not [tone for tone in tones if tone["hz"] == TEMPO_HZ and tone["at"] > chime_s]


def test_slow_down_keeps_the_pitch_and_shortens_the_notes(page: Page, daemon: FakeDaemon) -> None:
    turn_on(page)
    found = {}
    for sound in ("pitch", "slow down"):
        shown = live(view(LEVEL))
        shown["view"]["guide"]["cue"]["sound"] = sound
        daemon.show(shown)
        page.wait_for_timeout(600)
        forget(page)
        wait_for(page, "window.tones.length >= 4")
        tones = page.evaluate("window.tones")
        found[sound] = {tone["hz"]: round(tone["stop"] - tone["at"], 3) for tone in tones}
    assert found["pitch"].keys() == found["slow down"].keys()
    assert max(found["slow down"].values()) < 0.6 * min(found["pitch"].values())


def test_cues_end_with_the_messages(page: Page, daemon: FakeDaemon) -> None:
    turn_on(page)
    daemon.show(live(view(PEAK)))
    hear(page, TEMPO_HZ)
    daemon.silent = True
    hear(page, NO_LINK_HZ)
    forget(page)
    page.wait_for_timeout(1000)
    assert TEMPO_HZ not in heard(page)


def test_no_cue_from_a_meter_that_is_silent_but_a_buzz(page: Page, daemon: FakeDaemon) -> None:
    turn_on(page)
    daemon.show(live(view(PEAK)))
    hear(page, TEMPO_HZ)
    daemon.show(live(view(PEAK), channel(link="stale", age_s=4.0)))
    hear(page, NO_LINK_HZ)
    forget(page)
    before = daemon.sequence
    page.wait_for_timeout(1000)
    assert daemon.sequence > before
    assert heard(page) == []


def test_a_pause_is_silent(page: Page, daemon: FakeDaemon) -> None:
    turn_on(page)
    daemon.show(live(view(PEAK, state=SessionState.PAUSED)))
    expect(page.locator("#do-now")).to_contain_text("Paused")
    page.wait_for_timeout(1000)
    assert heard(page) == []


def test_an_alarm_buzzes_low(page: Page, daemon: FakeDaemon) -> None:
    turn_on(page)
    daemon.say({"type": "alarm", "text": "panel above 250 mV"})
    hear(page, ALARM_HZ)


def test_the_pedal_can_mute_and_the_page_shows_it(page: Page, daemon: FakeDaemon) -> None:
    turn_on(page)
    daemon.show(live(view(PEAK)))
    hear(page, TEMPO_HZ)
    press(page, "m")
    expect(page.locator("#sound-state")).to_have_text("✗ muted")
    forget(page)
    daemon.say(stored(1))
    expect(page.locator("#stored li")).to_have_count(1)
    assert heard(page) == []
    assert daemon.actions == []


def test_a_context_that_never_resumes_is_shown_as_held_back(open_page: OpenPage) -> None:
    page = open_page(audio(resumes=False))
    page.click("#sound")
    expect(page.locator("#sound-state")).to_contain_text("held back")
    expect(page.locator("#sound")).to_have_text("Sound on")


def test_a_context_whose_clock_stands_still_is_replaced(page: Page, daemon: FakeDaemon) -> None:
    turn_on(page)
    daemon.show(live(view(PEAK)))
    hear(page, TEMPO_HZ)
    page.evaluate("window.frozen = true")
    wait_for(page, "window.tones.some(tone => tone.born === 2)")
    expect(page.locator("#sound-state")).to_have_text("♪ sound on")
    assert page.evaluate("window.contexts") == 2


def test_the_real_browser_runs_its_audio_after_a_click(open_page: OpenPage) -> None:
    page = open_page()
    page.click("#sound")
    expect(page.locator("#sound-state")).to_have_text("♪ sound on")


def test_speech_says_stored_numbers_though_the_browser_loses_the_first_call(
    open_page: OpenPage, daemon: FakeDaemon
) -> None:
    page = open_page(speech())
    daemon.show(live(view(LEVEL)))
    page.click("#speech")
    expect(page.locator("#speech")).to_have_text("Speech on")
    daemon.say(stored(1, 4.02))
    wait_for(page, "window.said.some(([text]) => text === '+4.02 dBu, pass')")
    assert {voice for _, voice in page.evaluate("window.said")} == {"near"}


def test_without_a_voice_the_page_says_so(open_page: OpenPage) -> None:
    page = open_page(speech(voices="[]"))
    page.click("#speech")
    expect(page.locator("#speech")).to_have_text("No voice here")


def test_the_screen_is_kept_awake_while_a_session_runs(open_page: OpenPage, daemon: FakeDaemon) -> None:
    page = open_page(WAKE_LOCK)
    expect(page.locator("#start-form")).to_be_visible()
    assert page.evaluate("window.locks.length") == 0
    daemon.show(live(view(LEVEL)))
    wait_for(page, "window.locks.length === 1")
    page.evaluate("window.locks[0].released = true; document.dispatchEvent(new Event('visibilitychange'))")
    wait_for(page, "window.locks.length === 2")
    daemon.show(live(None))
    wait_for(page, "window.locks[1].released")


def test_where_the_screen_cannot_be_kept_awake_the_page_says_why(
    open_page: OpenPage, daemon: FakeDaemon
) -> None:
    page = open_page("delete Navigator.prototype.wakeLock")
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#wake-state")).to_contain_text("needs https or this computer")
