"""A whole session on the page with nothing but the pedal: real bench, real daemon, real Chromium.

The hands turn the trimmers of the simulated bench; the one thing that reaches the page is one key.
"""

from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from meterlog.demo.programs import Programs
from tests.demo.bench import GLANCE_S, Desk, short_procedure


@pytest.mark.browser
@pytest.mark.wire
@pytest.mark.slow
@pytest.mark.timeout(400)
def test_a_session_by_pedal_alone(browser: Browser, tmp_path: Path) -> None:
    with Programs(tmp_path) as programs, closing(Desk(programs)) as desk:
        session = desk.begin(short_procedure(tmp_path))
        context = browser.new_context(viewport={"width": 1280, "height": 800})
        page = context.new_page()
        page.goto(desk.note["url"])
        presses: list[str] = []

        def press(_: str) -> None:
            presses.append("b")
            page.keyboard.press("b")

        technician = desk.technician(press)

        def ended(view: object) -> bool:
            page.wait_for_timeout(GLANCE_S * 100)  # lets the page's own events run
            return view.ended is not None  # type: ignore[attr-defined]

        view = desk.work(technician, ended)
        assert view.ended is not None
        assert view.ended["verdict"] == "pass"
        expect(page.locator("body")).to_have_attribute("data-mode", "ended")
        page.screenshot(path=tmp_path / "ended.png")
        context.close()
        record = desk.client.get(f"/api/sessions/{session}").json()
    go_ons = [message for message in record["endings"] if message["ending"] == "done"]
    assert go_ons
    assert len(presses) >= 6
