"""The live stream over a real socket: what a page is told, and what a page cannot do to the daemon."""

import json
import time
from collections.abc import Iterator
from typing import Any

import pytest
from websockets.exceptions import ConnectionClosed
from websockets.sync.client import ClientConnection, connect

from meterlog.daemon.hub import MOST_WAITING
from tests.daemon.conftest import House
from tests.daemon.desk import PATIENCE_S, wait_until
from tests.daemon.raw_socket import RawPage


@pytest.fixture
def page(house: House) -> Iterator[ClientConnection]:
    with connect(f"ws://127.0.0.1:{house.port}/api/live", proxy=None, close_timeout=1) as page:
        wait_until(lambda: len(house.desk.hub) == 1)
        yield page


def messages(page: ClientConnection, kind: str) -> Iterator[dict[str, Any]]:
    while True:
        message = json.loads(page.recv(timeout=PATIENCE_S))
        if message["type"] == kind:
            yield message


def close_code(page: ClientConnection) -> int | None:
    """Of the server's close frame, after everything before it."""
    try:
        while True:
            page.recv(timeout=PATIENCE_S)
    except ConnectionClosed as closed:
        return closed.rcvd.code if closed.rcvd else None


def raw(house: House, page: RawPage) -> None:
    answer = page.handshake(Host=f"127.0.0.1:{house.port}")
    assert answer.startswith("HTTP/1.1 101")


def test_a_page_hears_a_whole_measurement(house: House, page: ClientConnection) -> None:
    number = house.begin()
    house.desk.wait(1.5)
    house.desk.press()
    house.desk.measure(3)
    stored = next(messages(page, "stored"))
    assert stored["settled"]["text"].startswith("+4.00")
    assert stored["session"] == number
    live = next(message for message in messages(page, "live") if message["view"]["step"] == "level-again")
    assert live["session"] == number
    (output, spare) = live["channels"]
    assert (output["channel"], output["text"], output["unit_text"]) == ("output", "+4.000 dBu", "dBu")
    assert spare["value"] is None
    assert live["stored"]["error"] == ""


def test_readings_come_with_their_shown_numbers(house: House, page: ClientConnection) -> None:
    house.desk.measure(0.6, 1.0)
    readings = next(messages(page, "readings"))["readings"]
    assert readings[0]["shown"] == 0.0  # 1 V = 0 dBV by definition; the bench file shows dBV
    assert readings[0]["value"] == 1.0


def test_the_newest_message_is_told_at_once_to_a_page_that_comes(house: House) -> None:
    house.desk.barrier()
    with connect(f"ws://127.0.0.1:{house.port}/api/live", proxy=None, close_timeout=1) as late:
        first = json.loads(late.recv(timeout=PATIENCE_S))
    assert first["type"] == "live"
    assert first["session"] is None


def test_signs_of_life_are_taken_and_a_page_that_leaves_is_forgotten(
    house: House, page: ClientConnection
) -> None:
    page.send('{"type":"alive"}')
    page.send("no JSON at all")
    assert next(messages(page, "live"))["type"] == "live"
    page.close()
    wait_until(lambda: len(house.desk.hub) == 0)


def test_a_page_that_sleeps_is_sent_away_and_disturbs_nobody(house: House, page: ClientConnection) -> None:
    """It has shaken hands and then reads nothing, as a phone in a pocket does."""
    with RawPage(house.port, receive_bytes=4096) as asleep:
        raw(house, asleep)
        wait_until(lambda: len(house.desk.hub) == 2)
        end_s = time.monotonic() + PATIENCE_S
        while len(house.desk.hub) == 2 and time.monotonic() < end_s:
            house.desk.hub.say({"type": "alarm", "text": "x" * 20_000})
            house.desk.hub.live(lambda: {"session": None, "view": None})
            page.recv(timeout=PATIENCE_S)  # the other page goes on
            time.sleep(0.01)
        assert len(house.desk.hub) == 1


def test_a_page_that_is_behind_learns_that_it_should_come_again(house: House, page: ClientConnection) -> None:
    """Close code 1013, "try again later", of the IANA registry of WebSocket close codes."""
    (behind,) = house.desk.hub._pages

    def flood() -> None:
        for _ in range(MOST_WAITING + 1):
            behind.offer("{}")

    behind.loop.call_soon_threadsafe(flood)
    assert close_code(page) == 1013


def test_a_huge_message_ends_its_sender_alone(house: House, page: ClientConnection) -> None:
    """Close code 1009, RFC 6455 section 7.4.1: too big to process."""
    with RawPage(house.port) as rude:
        raw(house, rude)
        wait_until(lambda: len(house.desk.hub) == 2)
        rude.send_frame(b"x" * 1_000_000)
        assert rude.read_to_close() == 1009
    wait_until(lambda: len(house.desk.hub) == 1)
    assert next(messages(page, "live"))


def test_half_a_frame_and_a_hang_up_leave_nothing_behind(house: House) -> None:
    with RawPage(house.port) as rude:
        raw(house, rude)
        wait_until(lambda: len(house.desk.hub) == 1)
        rude.send_raw(RawPage.frame(b"alive")[:3])
    wait_until(lambda: len(house.desk.hub) == 0)


def test_bytes_instead_of_text_are_no_harm(house: House, page: ClientConnection) -> None:
    page.send(b"\x00\xff")
    assert next(messages(page, "live"))
    assert len(house.desk.hub) == 1


def test_a_daemon_that_ends_says_so(house: House, page: ClientConnection) -> None:
    """Close code 1012, "service restart", of the same registry."""
    house.desk.hub.close()
    assert close_code(page) == 1012
