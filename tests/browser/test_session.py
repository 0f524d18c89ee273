"""A whole session on the page: begin, go through the steps with one foot switch, see the end."""

from playwright.sync_api import Page, expect

from meterlog.accuracy import Verdict
from meterlog.procedure.view import SessionState, StepState
from tests.browser.fake_daemon import FakeDaemon
from tests.browser.helpers import press, until
from tests.browser.messages import INSIDE, LEVEL, PEAK, PREPARE, SESSION, live, plan, stored, view


def fill_start_form(page: Page) -> None:
    expect(page.locator("#start-button")).to_be_enabled()  # the procedures have come
    page.fill("#unit-model", "TR-2")
    page.fill("#unit-serial", "17")
    page.fill("#operator", "K. Lind")


def kinds(daemon: FakeDaemon) -> list[str]:
    return [action["kind"] for action in daemon.actions]


def test_begin_sends_who_and_what(page: Page, daemon: FakeDaemon) -> None:
    fill_start_form(page)
    page.click("#start-button")
    until(page, lambda: bool(daemon.begun))
    assert daemon.begun == [
        {"procedure": "tape", "unit_model": "TR-2", "unit_serial": "17", "operator": "K. Lind"}
        | {"batch": "", "override": "", "temperature_c": None, "humidity_percent": None}
        | {"customer": "", "customer_says": "", "received": None, "work_place": ""}
    ]
    assert daemon.tokens == ["token-1"]


def test_begin_sends_the_temperature_the_customer_and_the_place(page: Page, daemon: FakeDaemon) -> None:
    fill_start_form(page)
    page.click("#told summary")
    told = {
        "temperature": "23.5",
        "humidity": "45",
        "customer": "A. Customer\n2 Hill Road",
        "received": "2026-11-20",
    }
    for name, text in told.items():
        page.fill(f"#{name}", text)
    page.fill("#customer-says", "hums")
    page.fill("#work-place", "in their studio")
    page.click("#start-button")
    until(page, lambda: bool(daemon.begun))
    assert daemon.begun[0] | {
        "temperature_c": 23.5, "humidity_percent": 45, "customer": "A. Customer\n2 Hill Road",
        "customer_says": "hums", "received": "2026-11-20", "work_place": "in their studio",
    } == daemon.begun[0]  # fmt: skip


def test_the_temperature_is_told_anew_while_it_runs(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    page.click("#environment")
    page.fill("#ask-text", "24 degC, 40 % RH")
    page.keyboard.press("Enter")
    until(page, lambda: bool(daemon.actions))
    assert [(one["kind"], one["text"]) for one in daemon.actions] == [("environment", "24 degC, 40 % RH")]


def test_a_batch_offers_its_next_unit(page: Page, daemon: FakeDaemon) -> None:
    daemon.batch = {"name": "June", "procedure": "tape", "unit_model": "TR-2", "next": "004"} | {
        "units": [{}] * 5,
        "done": 3,
        "first_time": 2,
    }
    page.reload()
    expect(page.locator("#batch-about")).to_have_text("Batch June: 3 of 5 done, 2 the first time; next 004")
    expect(page.locator("#unit-serial")).to_have_value("004")
    page.fill("#operator", "K. Lind")
    page.click("#start-button")
    until(page, lambda: bool(daemon.begun))
    assert (daemon.begun[0]["unit_serial"], daemon.begun[0]["batch"]) == ("004", "June")


def test_a_session_that_was_left_can_be_gone_on_with(page: Page, daemon: FakeDaemon) -> None:
    expect(page.locator("#past-sessions li").nth(1)).to_contain_text("set aside: waits for a part")
    page.get_by_role("button", name="Go on with it").click()  # one only: the other session has ended
    until(page, lambda: bool(daemon.gone_on))
    assert daemon.gone_on == [6]


def test_a_meter_that_is_not_good_enough_asks_why_before_a_session_goes_on(
    page: Page, daemon: FakeDaemon
) -> None:
    daemon.unfit = {"what": "Not good enough.", "where": "meters", "do": "Say why."}
    daemon.unfit["problems"] = ["level: ± 29 mV"]
    page.get_by_role("button", name="Go on with it").click()
    expect(page.locator("#ask-title")).to_have_text("Not good enough: a meter on this bench")
    expect(page.locator("#start-error")).to_contain_text("level: ± 29 mV")
    page.fill("#ask-text", "no other at hand")
    page.click("#ask-ok")
    until(page, lambda: bool(daemon.gone_on))
    assert (daemon.gone_on, daemon.overrides) == ([6], ["no other at hand"])
    expect(page.locator("#start-error")).to_have_text("")


def test_another_meter_is_said_to_be_meant_with_a_reason(page: Page, daemon: FakeDaemon) -> None:
    message = live(view(LEVEL))
    daemon.show(message)
    expect(page.locator("#go-on")).to_be_visible()
    expect(page.locator("#other-meter")).to_be_hidden()
    message["view"]["other_meters"] = "'bench meter' is another"
    daemon.show(message)
    page.click("#other-meter")
    page.fill("#ask-text", "the first is at calibration")
    page.click("#ask-ok")
    until(page, lambda: bool(daemon.actions))
    assert daemon.actions == [{"kind": "other-meter", "text": "the first is at calibration", "place": None}]


def test_a_procedure_with_problems_cannot_be_begun_and_says_why(page: Page) -> None:
    page.select_option("#procedure", "bad")
    expect(page.locator("#procedure-problems")).to_have_text("draft.toml, line 7: no target")
    expect(page.locator("#start-button")).to_be_disabled()
    page.select_option("#procedure", "tape")
    expect(page.locator("#start-button")).to_be_enabled()


def test_warnings_are_read_before_a_session_and_keep_nobody_from_it(page: Page) -> None:
    page.select_option("#procedure", "tape")
    expect(page.locator("#procedure-warnings li")).to_have_text(
        "tape.toml:9: channel.2.name: warning: nothing uses it"
    )
    expect(page.locator("#start-button")).to_be_enabled()
    page.select_option("#procedure", "bad")
    expect(page.locator("#procedure-warnings li")).to_have_count(0)


def test_a_refused_begin_says_what_where_and_what_to_do(page: Page, daemon: FakeDaemon) -> None:
    daemon.problem = {"what": "A session is running.", "where": "session 3", "do": "End it first."}
    fill_start_form(page)
    page.click("#start-button")
    expect(page.locator("#start-error")).to_have_text("A session is running. (session 3) End it first.")
    expect(page.locator("#unit-serial")).to_have_value("17")


def test_every_problem_of_a_refused_begin_has_its_line(page: Page, daemon: FakeDaemon) -> None:
    problems = ["tape.toml, line 7: no target", "tape.toml, line 9: no channel"]
    daemon.problem = {"what": "It cannot be used.", "where": "", "do": "", "problems": problems}
    fill_start_form(page)
    page.click("#start-button")
    expect(page.locator("#start-error")).to_have_text("It cannot be used.\n" + "\n".join(problems))


def test_the_unit_and_operator_are_offered_again_the_serial_number_is_not(
    page: Page, daemon: FakeDaemon
) -> None:
    fill_start_form(page)
    page.click("#start-button")
    until(page, lambda: bool(daemon.begun))
    page.reload()
    expect(page.locator("#operator")).to_have_value("K. Lind")
    expect(page.locator("#unit-model")).to_have_value("TR-2")
    expect(page.locator("#unit-serial")).to_have_value("")


def test_sessions_so_far_lead_to_report_and_exports(page: Page) -> None:
    past = page.locator("#past-sessions li").first
    expect(past).to_contain_text("TR-2 no. 16")
    expect(past).to_contain_text("✓ pass")
    targets = past.locator("a").evaluate_all("links => links.map(link => link.getAttribute('href'))")
    assert targets == [
        "/api/sessions/0/report",
        "/api/sessions/0/report?format=pdf",
        "/api/sessions/0/report?format=pdf&sheet=true",
        *(
            f"/api/sessions/0/export?format={name}"
            for name in ("csv", "csv-semicolon", "jsonl", "parquet", "xlsx")
        ),
    ]


def test_from_begin_to_verdict_one_foot_switch_is_enough(page: Page, daemon: FakeDaemon) -> None:
    fill_start_form(page)
    page.keyboard.press("Enter")  # the last field still has the keys; from here on only the pedal
    until(page, lambda: bool(daemon.begun))

    daemon.show(live(view(PREPARE, place=0, step_state=StepState.WAITING)))
    expect(page.locator("#do-now")).to_have_text(PREPARE.do_now)
    press(page, "b")
    until(page, lambda: kinds(daemon) == ["go-on"])

    daemon.show(live(view(PEAK, place=1)))
    expect(page.locator("#scale")).to_contain_text("nearest so far")
    daemon.show(live(view(INSIDE, place=2, step_state=StepState.SETTLED)))
    daemon.say(stored(1))
    expect(page.locator("#stored li")).to_contain_text("+4.02 dBu ✓ pass")
    press(page, "b")
    until(page, lambda: kinds(daemon) == ["go-on", "go-on"])

    daemon.say({"type": "session-ended", "verdict": "pass"})
    daemon.show(live(None))
    expect(page.locator("#end-verdict")).to_have_text("✓ pass")
    expect(page.locator("#end-links a").first).to_have_attribute("href", f"/api/sessions/{SESSION}/report")
    press(page, "b")
    assert kinds(daemon) == ["go-on", "go-on"]  # nothing is left to go on with
    assert daemon.actions[0] == {"kind": "go-on", "text": "", "place": None}


def test_new_session_leaves_the_ended_one_even_while_the_daemon_still_shows_it(
    page: Page, daemon: FakeDaemon
) -> None:
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#work")).to_be_visible()
    daemon.show(live(view(LEVEL, state=SessionState.ENDED, verdict=Verdict.FAIL)))
    expect(page.locator("#end-verdict")).to_have_text("✗ fail")
    expect(page.locator("#end-unit")).to_contain_text("TR-2 no. 17")
    page.click("#new-session")
    expect(page.locator("#start-form")).to_be_visible()
    sequence = daemon.sequence
    until(page, lambda: daemon.sequence > sequence + 5)
    expect(page.locator("#start-form")).to_be_visible()


def test_skip_wants_a_reason(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    page.click("#skip")
    page.click("#ask-ok")
    assert page.locator("#ask").is_visible()  # an empty reason is not taken
    page.fill("#ask-text", "trimmer sheared off")
    page.click("#ask-ok")
    until(page, lambda: bool(daemon.actions))
    assert daemon.actions == [{"kind": "skip", "text": "trimmer sheared off", "place": None}]


def test_cancel_sends_nothing(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    for close in ("click", "Escape"):
        page.click("#note")
        page.fill("#ask-text", "never mind")
        page.click("#ask-cancel") if close == "click" else page.keyboard.press(close)
        expect(page.locator("#ask")).to_be_hidden()
    assert daemon.actions == []


def test_redo_of_an_ended_step_names_its_place(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL, place=7, plan=plan(7, {2: Verdict.FAIL}))))
    page.get_by_title("Redo Reproduce level, as found").click()
    page.get_by_role("button", name="screwdriver slipped").click()
    page.click("#ask-ok")
    until(page, lambda: bool(daemon.actions))
    assert daemon.actions == [{"kind": "redo", "text": "screwdriver slipped", "place": 2}]


def test_redo_of_the_step_at_hand_leaves_the_place_to_the_daemon(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    page.click("#redo")
    page.click("#ask-ok")
    until(page, lambda: bool(daemon.actions))
    assert daemon.actions == [{"kind": "redo", "text": "", "place": None}]


def test_pause_and_resume_are_one_button(page: Page, daemon: FakeDaemon) -> None:
    daemon.show(live(view(LEVEL)))
    page.get_by_role("button", name="Pause").click()
    until(page, lambda: kinds(daemon) == ["pause"])
    daemon.show(live(view(LEVEL, state=SessionState.PAUSED)))
    expect(page.locator("#do-now")).to_contain_text("Paused")
    page.get_by_role("button", name="Resume").click()
    until(page, lambda: kinds(daemon) == ["pause", "resume"])


def test_steps_show_state_and_verdict_by_pass(page: Page, daemon: FakeDaemon) -> None:
    verdicts = {1: Verdict.PASS, 2: Verdict.FAIL}
    daemon.show(live(view(LEVEL, place=7, plan=plan(7, verdicts))))
    expect(page.locator("#steps tbody tr")).to_have_count(5)
    rows = page.locator("#steps tbody tr").all_inner_texts()
    assert [row.split("\t") for row in rows[:3]] == [
        ["Prepare the machine", "✓ done", "✓ done", "○"],
        ["Azimuth", "✓ pass", "✓ done", "○"],
        ["Reproduce level", "✗ fail", "○ waiting", "○"],
    ]
    expect(page.locator("#steps [aria-current=step]")).to_have_count(1)
