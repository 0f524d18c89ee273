"""What the tests of the page share besides fixtures."""

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page

PATIENCE_MS = 30_000
AFTER_DEBOUNCE_MS = 300

OpenPage = Callable[..., Page]


def until(page: Page, holds: Callable[[], bool]) -> None:
    """Wait for something on the daemon's side; generous, for a busy machine."""
    for _ in range(PATIENCE_MS // 50):
        if holds():
            return
        page.wait_for_timeout(50)
    pytest.fail("it did not happen within half a minute")


def module(page: Page, name: str, expression: str, argument: Any = None) -> Any:
    """`expression` with the exports of one module of the page as `m` and the argument as `a`."""
    return page.evaluate(
        f"async (a) => {{ const m = await import('/{name}'); return {expression}; }}", argument
    )


def press(page: Page, key: str) -> None:
    """One press of a foot switch, far enough from the one before to count."""
    page.wait_for_timeout(AFTER_DEBOUNCE_MS)
    page.keyboard.press(key)


def wait_for(page: Page, expression: str) -> None:
    """Wait until the expression holds. Playwright's own way needs an eval, which the policy forbids."""
    until(page, lambda: bool(page.evaluate(expression)))
