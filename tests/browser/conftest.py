"""A Chromium for all tests of the room, a fake daemon and a page for each. Console errors fail the test."""

import os
import shutil
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright

from tests.browser.fake_daemon import FakeDaemon
from tests.browser.helpers import PATIENCE_MS, OpenPage

REFUSED_REQUEST = "Failed to load resource"
LOST_SOCKET = "WebSocket connection to"

expect.set_options(timeout=PATIENCE_MS)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One for a module: while it is open, no other test of this thread can run an event loop."""
    executable = (
        os.environ.get("METERLOG_CHROMIUM") or shutil.which("chromium") or shutil.which("google-chrome")
    )
    if executable is None:
        pytest.skip("no Chromium found; name one in METERLOG_CHROMIUM")
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(
            executable_path=executable, args=["--no-sandbox", "--mute-audio"]
        )
        yield launched
        launched.close()


@pytest.fixture
def daemon() -> Iterator[FakeDaemon]:
    fake = FakeDaemon()
    yield fake
    fake.stop()


@pytest.fixture
def open_page(browser: Browser, daemon: FakeDaemon) -> Iterator[OpenPage]:
    """open_page(script="", **context options) -> the bench page; `script` runs before the page's own."""
    contexts = []
    errors: list[str] = []

    def open_one(script: str = "", **options: Any) -> Page:
        context = browser.new_context(**({"viewport": {"width": 1280, "height": 800}} | options))
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(PATIENCE_MS)
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.on("console", lambda message: errors.extend([message.text] if message.type == "error" else []))
        if script:
            page.add_init_script(script)
        page.goto(daemon.url)
        # What is told once must find the page listening.
        expect(page.locator("body")).not_to_have_attribute("data-mode", "loading")
        return page

    yield open_one
    for context in contexts:
        context.close()
    assert [error for error in errors if not error.startswith((REFUSED_REQUEST, LOST_SOCKET))] == []


@pytest.fixture
def page(open_page: OpenPage) -> Page:
    return open_page()
