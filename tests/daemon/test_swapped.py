"""Another meter at the same address while the daemon runs, on a real wire."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from meterlog.daemon.client import Client
from meterlog.records import DataFolder, load_session, replay
from meterlog.testing import Instrument, Numbered
from tests.daemon.desk import BENCH, wait_until
from tests.daemon.process import Served, served
from tests.drivers.fake_meter import FakeMeter

pytestmark = [pytest.mark.wire, pytest.mark.slow]

FIRST, OTHER = "ACME,M1,123,1.0", "ACME,M1,999,1.0"


class Plug:
    """What is plugged in where the bench meter was, and what the daemon says of it."""

    def __init__(self, meter: FakeMeter, instrument: Instrument, daemon: Served, client: Client) -> None:
        self.meter, self.instrument, self.daemon, self.client = meter, instrument, daemon, client

    def swap(self, identity: str) -> None:
        self.meter.identity = identity
        self.instrument.hang_up()

    @property
    def link(self) -> Any:
        return self.client.get("/api/status")["links"][0]

    def reads(self, identity: str) -> Any:
        link = self.link
        return link["state"] == "live" and link["identity"]["text"] == identity and not link["refused"]

    @property
    def asked_about(self) -> str:
        return str(self.client.get("/api/session")["other_meters"])


@pytest.fixture
def plug(tmp_path: Path) -> Iterator[Plug]:
    meter = FakeMeter(Numbered())
    meter.identity = FIRST
    with Instrument(meter) as instrument:
        bench = BENCH.replace("TCPIP::127.0.0.1::9::SOCKET", instrument.address)
        with served(tmp_path, bench) as daemon, Client(daemon.data) as client:
            one = Plug(meter, instrument, daemon, client)
            wait_until(lambda: one.reads(FIRST))
            yield one


def test_in_a_session_it_is_read_when_somebody_says_why(plug: Plug) -> None:
    number = plug.client.begin("two", "Recorder", "17", "me")
    plug.swap(OTHER)
    wait_until(lambda: OTHER in plug.asked_about)
    held = plug.link["readings"]
    assert plug.link["refused"]["text"] == OTHER
    assert FIRST in plug.asked_about
    assert "whether it is meant" in plug.client.act("go-on")
    assert plug.link["readings"] == held
    assert plug.client.act("other-meter", "the first is at calibration") == ""
    wait_until(lambda: plug.reads(OTHER))
    assert plug.asked_about == ""
    database = DataFolder(plug.daemon.data).open()
    record = load_session(database, number)
    assert [one.serial_number for one in record.instruments] == ["123", "999"]
    assert replay(database, number).differences == ()


def test_the_first_one_plugged_in_again_is_taken_without_a_word(plug: Plug) -> None:
    plug.client.begin("two", "Recorder", "17", "me")
    plug.swap(OTHER)
    wait_until(lambda: OTHER in plug.asked_about)
    plug.swap(FIRST)
    wait_until(lambda: plug.reads(FIRST))
    assert plug.asked_about == ""
    assert plug.client.act("other-meter", "none") == "no other meter answers than before"


def test_between_sessions_it_is_read_and_the_log_says_so(plug: Plug) -> None:
    plug.swap(OTHER)
    wait_until(lambda: plug.reads(OTHER))
    plug.client.begin("two", "Recorder", "17", "me")
    assert plug.asked_about == ""
    plug.daemon.process.terminate()
    code, errors = plug.daemon.end()
    assert code == 0
    assert f"Another meter answers: 'bench meter' is \"{OTHER}\" from now on" in errors
    assert f'another meter answers: "{OTHER}"; it was "{FIRST}"' in errors


def test_after_a_restart_the_first_one_is_taken_again_too(plug: Plug, tmp_path: Path) -> None:
    """The link has then met the other one first; the record knows better."""
    number = plug.client.begin("two", "Recorder", "17", "me")
    assert plug.client.act("note", "kept, and so is all that came before it") == ""
    plug.daemon.process.kill()
    plug.daemon.end()
    plug.meter.identity = OTHER
    bench = plug.daemon.bench.read_text()
    with served(tmp_path, bench) as daemon, Client(daemon.data) as client:
        again = Plug(plug.meter, plug.instrument, daemon, client)
        wait_until(lambda: OTHER in again.asked_about)
        assert client.get("/api/status")["session"] == number
        again.swap(FIRST)
        wait_until(lambda: again.reads(FIRST))
        assert again.asked_about == ""
