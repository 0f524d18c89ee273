"""The hub: the newest live message wins, all else arrives once and in order, a page too slow is sent away."""

import asyncio
import json
import threading
from functools import partial
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.daemon.hub import MOST_WAITING, Hub, Page


def waiting(page: Page, most: int = 10_000) -> Any:
    async def read() -> list[dict[str, Any]]:
        texts: list[dict[str, Any]] = []
        while len(texts) < most:
            try:
                text = await asyncio.wait_for(page.next(), 0.05)
            except TimeoutError:
                return texts
            if text is None:
                return [*texts, {"end": True}]
            texts.append(json.loads(text))
        return texts

    return read()


@given(st.lists(st.sampled_from(["live", "say"]), max_size=60))
def test_only_live_messages_replace_one_another(kinds: list[str]) -> None:
    async def scene() -> list[dict[str, Any]]:
        hub = Hub()
        page = hub.join()
        for number, kind in enumerate(kinds):
            if kind == "live":
                hub.live(partial(dict, number=number))
            else:
                hub.say({"type": "stored", "number": number})
        await asyncio.sleep(0)
        found: list[dict[str, Any]] = await waiting(page)
        return found

    got = asyncio.run(scene())
    said = [number for number, kind in enumerate(kinds) if kind == "say"]
    live = [number for number, kind in enumerate(kinds) if kind == "live"]
    assert [message["number"] for message in got if message["type"] == "stored"] == said
    assert [message["number"] for message in got if message["type"] == "live"] == live[-1:]


def test_live_messages_are_numbered() -> None:
    async def scene() -> list[dict[str, Any]]:
        hub = Hub()
        page = hub.join()
        numbers = []
        for _ in range(3):
            hub.live(dict)
            await asyncio.sleep(0)
            numbers += await waiting(page)
        return numbers

    assert [message["sequence"] for message in asyncio.run(scene())] == [1, 2, 3]


def test_what_nobody_listens_to_is_not_made() -> None:
    async def scene() -> list[dict[str, Any]]:
        hub = Hub()
        hub.live(lambda: pytest.fail("nobody listens"))
        hub.leave(hub.join())
        hub.live(lambda: pytest.fail("nobody listens any more"))
        page = hub.join()
        hub.live(dict)
        await asyncio.sleep(0)
        found: list[dict[str, Any]] = await waiting(page)
        return found

    assert asyncio.run(scene()) == [{"type": "live", "sequence": 1}]


def test_a_page_that_comes_late_is_told_what_lasts() -> None:
    async def scene() -> list[dict[str, Any]]:
        hub = Hub()
        hub.say({"type": "alarm", "text": "gone"})
        hub.say({"type": "alarm", "text": "lasting"}, lasting=True)
        early: list[dict[str, Any]] = await waiting(hub.join())
        hub.forget_lasting()
        later: list[dict[str, Any]] = await waiting(hub.join())
        return early + later

    got = asyncio.run(scene())
    assert [message["text"] for message in got] == ["lasting"]


def test_a_page_that_takes_nothing_is_ended_and_holds_a_bounded_number() -> None:
    async def scene() -> tuple[list[dict[str, Any]], bool]:
        hub = Hub()
        page = hub.join()
        for number in range(3 * MOST_WAITING):
            hub.say({"type": "readings", "number": number})
        await asyncio.sleep(0)
        return await waiting(page), page.overrun

    got, overrun = asyncio.run(scene())
    assert got == [{"end": True}]
    assert overrun


def test_closing_ends_every_page_after_what_it_still_had_to_hear() -> None:
    async def scene() -> list[dict[str, Any]]:
        hub = Hub()
        page = hub.join()
        hub.say({"type": "stored"})
        hub.close()
        await asyncio.sleep(0)
        first: list[dict[str, Any]] = await waiting(page)
        late: list[dict[str, Any]] = await waiting(hub.join())
        return first + late

    assert asyncio.run(scene()) == [{"type": "stored"}, {"end": True}, {"end": True}]


def test_another_thread_may_speak_while_pages_come_and_go() -> None:
    async def scene() -> list[int]:
        hub = Hub()

        def speak() -> None:
            for number in range(200):
                hub.say({"type": "stored", "number": number})

        speaker = threading.Thread(target=speak)
        page = hub.join()
        speaker.start()
        got: list[int] = []
        while len(got) < 200:
            got.append(json.loads(await page.next() or "")["number"])
            hub.leave(hub.join())
        speaker.join()
        return got

    assert asyncio.run(scene()) == list(range(200))
