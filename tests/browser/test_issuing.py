"""Handing a report over on the page: first, again as it was, and in the place of an earlier one."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.fake_daemon import FakeDaemon
from tests.browser.fake_issuing import issued_report
from tests.browser.helpers import OpenPage, until
from tests.browser.messages import LEVEL, SESSION, live, view
from tests.browser.test_layout import PHONE, SIDEWAYS

FIRST = issued_report(0, 1, {"customer": "B. Customer"})


def ended(page: Page, daemon: FakeDaemon) -> None:
    """At the end of a session that has just been."""
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#work")).to_be_visible()
    daemon.say({"type": "session-ended", "verdict": "pass"})
    daemon.show(live(None))
    expect(page.locator("#ended")).to_be_visible()


def open_past(page: Page) -> None:
    page.locator("#past-sessions li").first.get_by_role("button").click()
    expect(page.locator("#issue")).to_be_visible()


def links(page: Page) -> list[str]:
    found = page.locator("#issued a").evaluate_all("links => links.map(link => link.getAttribute('href'))")
    return [str(one) for one in found]


def test_at_the_end_of_a_session_its_report_is_issued_and_its_number_seen(
    page: Page, daemon: FakeDaemon
) -> None:
    ended(page, daemon)
    page.click("#end-issue")
    expect(page.locator("#issued")).to_have_text("Nothing was issued of it yet.")
    page.get_by_role("button", name="Issue the report").last.click()
    expect(page.locator("#issue-customer")).to_have_attribute("placeholder", "A. Customer\n2 Hill Road")
    page.fill("#issue-customer", "C. Customer, 3 Hill Road")
    page.select_option("#issue-as", "pdf-letter")
    page.click("#issue-button")
    expect(page.locator("#issued b")).to_have_text(f"report {SESSION}-1")
    assert daemon.issuing.asked == [
        {"sheet": False, "format": "pdf", "paper": "letter", "customer": "C. Customer, 3 Hill Road"}
        | {"replaces": "", "because": ""}
    ]
    expect(page.locator("#issue-form")).to_be_hidden()
    expect(page.get_by_role("button", name="Issue the test sheet")).to_be_visible()
    base = f"/api/sessions/{SESSION}/issued/{SESSION}-1"
    assert links(page) == [f"{base}?format=pdf", f"{base}?format=html"]
    page.click("#issue-close")
    expect(page.locator("#end-issue")).to_have_text(f"Issued: report {SESSION}-1")


def test_one_of_a_past_session_is_replaced_with_a_reason(page: Page, daemon: FakeDaemon) -> None:
    daemon.issuing.issued = [FIRST]
    open_past(page)
    page.get_by_role("button", name="Replace").click()
    expect(page.locator("#issue-what")).to_have_text("Replace report 0-1")
    expect(page.locator("#issue-customer")).to_have_value("B. Customer")
    page.click("#issue-button")
    assert page.evaluate("document.getElementById('issue-because').matches(':invalid')")
    assert daemon.issuing.asked == []
    page.fill("#issue-because", "wrong address")
    page.click("#issue-button")
    until(page, lambda: bool(daemon.issuing.asked))
    assert (
        daemon.issuing.asked[0] | {"replaces": "0-1", "because": "wrong address"} == daemon.issuing.asked[0]
    )
    expect(page.locator("#issued li")).to_have_count(2)
    first, second = page.locator("#issued li").all()
    expect(first).to_contain_text("to B. Customer · replaced by 0-2")
    expect(first.get_by_role("button")).to_have_count(0)
    expect(second).to_contain_text("report 0-2")
    expect(second).to_contain_text("replaces 0-1, because: wrong address")
    expect(page.locator("#past-sessions li").first).to_contain_text("Issued 0-2")


def test_a_first_one_may_stand_in_for_that_of_an_earlier_session(page: Page, daemon: FakeDaemon) -> None:
    open_past(page)
    page.get_by_role("button", name="Issue the test sheet").click()
    expect(page.locator("#issue-because")).to_be_hidden()
    page.fill("#issue-replaces", "7-1")
    page.fill("#issue-because", "measured again")
    page.select_option("#issue-as", "html")
    page.click("#issue-button")
    expect(page.locator("#issued b")).to_have_text("test sheet 0-1")
    assert daemon.issuing.asked == [
        {"sheet": True, "format": "html", "customer": "", "replaces": "7-1", "because": "measured again"}
    ]


def test_a_refusal_says_why_and_what_was_typed_stays(page: Page, daemon: FakeDaemon) -> None:
    open_past(page)
    page.get_by_role("button", name="Issue the report").click()
    page.fill("#issue-customer", "C. Customer")
    daemon.problem = {"what": "No font has 'X'.", "where": "", "do": "Take the report as HTML."}
    page.click("#issue-button")
    expect(page.locator("#issue-error")).to_have_text("No font has 'X'. Take the report as HTML.")
    expect(page.locator("#issue-error")).to_be_in_viewport()
    expect(page.locator("#issue-button")).to_be_enabled()
    expect(page.locator("#issue-customer")).to_have_value("C. Customer")
    daemon.problem = None
    page.click("#issue-button")
    expect(page.locator("#issued b")).to_have_text("report 0-1")
    expect(page.locator("#issue-error")).to_have_text("")


def test_nothing_can_be_asked_for_before_it_is_known_what_was_issued(page: Page, daemon: FakeDaemon) -> None:
    daemon.issuing.issued = [FIRST]
    with daemon.answering_late():
        open_past(page)
        expect(page.locator("#issued")).to_have_text("Looking up what was issued…")
        expect(page.locator("#issue-first button")).to_have_count(0)
    expect(page.locator("#issued b")).to_have_text("report 0-1")
    expect(page.locator("#issue-first button")).to_have_text("Issue the test sheet")


def test_what_cannot_be_looked_up_says_why(page: Page) -> None:
    error = {"what": "The record is locked.", "where": "", "do": "Try again."}
    page.route("**/api/sessions/0", lambda route: route.fulfill(status=500, json={"error": error}))
    open_past(page)
    expect(page.locator("#issue-error")).to_have_text("The record is locked. Try again.")
    expect(page.locator("#issued")).to_have_text("")
    expect(page.locator("#issue-first button")).to_have_count(0)


def test_one_whose_file_was_not_kept_says_so(page: Page, daemon: FakeDaemon) -> None:
    daemon.issuing.issued = [FIRST | {"forms": []}]
    open_past(page)
    expect(page.locator("#issued")).to_contain_text("its file was not kept: who got it has it")
    assert links(page) == []


def test_a_session_that_begins_takes_the_keys_back(page: Page, daemon: FakeDaemon) -> None:
    open_past(page)
    daemon.show(live(view(LEVEL)))
    expect(page.locator("#issue")).to_be_hidden()
    page.keyboard.press("b")
    until(page, lambda: bool(daemon.actions))


@pytest.mark.parametrize("size", [(1280, 800), PHONE])
def test_all_of_it_fits(open_page: OpenPage, daemon: FakeDaemon, size: tuple[int, int]) -> None:
    daemon.issuing.issued = [FIRST, issued_report(0, 2, {"replaces": "0-1", "because": "a long reason " * 9})]
    page = open_page(viewport={"width": size[0], "height": size[1]})
    open_past(page)
    page.get_by_role("button", name="Replace").click()
    page.locator("#issue-button").scroll_into_view_if_needed()
    expect(page.locator("#issue-button")).to_be_in_viewport(ratio=1)
    assert page.evaluate(SIDEWAYS) <= 0
    assert page.locator("#issue").evaluate("node => node.scrollWidth - node.clientWidth") <= 0
