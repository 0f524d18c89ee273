"""The daemon as a process: its lock, its port, its end, and being killed."""

import os
import signal
import stat
from pathlib import Path

import httpx
import pytest

from meterlog.daemon.client import Client
from meterlog.daemon.errors import NoDaemon
from meterlog.daemon.serve import LOOPBACK
from meterlog.records import DataFolder, load_session, replay
from tests.daemon.desk import PATIENCE_S
from tests.daemon.process import files_in, meterlog, served
from tests.daemon.raw_socket import RawPage

pytestmark = pytest.mark.slow


def test_it_answers_though_no_meter_is_there(tmp_path: Path) -> None:
    with served(tmp_path) as daemon, Client(daemon.data) as client:
        status = client.get("/api/status")
        assert status["bench"]["name"] == "Test bench"
        assert [link["meter"] for link in status["links"]] == ["bench meter", "spare meter"]


def test_the_contact_is_for_its_owner_alone_and_goes_with_the_daemon(tmp_path: Path) -> None:
    with served(tmp_path) as daemon:
        contact = daemon.data / "daemon.json"
        assert stat.S_IMODE(contact.stat().st_mode) == 0o600
        daemon.process.send_signal(signal.SIGINT)
        assert daemon.end()[0] == 0
        assert not contact.exists()


@pytest.mark.parametrize("kind", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_ends_it_in_order_though_a_page_is_open_and_asleep(
    tmp_path: Path, kind: signal.Signals
) -> None:
    with served(tmp_path) as daemon, RawPage(daemon.port, receive_bytes=4096) as asleep:
        assert "101" in asleep.handshake(Host=f"127.0.0.1:{daemon.port}")
        with Client(daemon.data) as client:
            number = client.begin("two", "Recorder", "17", "me")
            assert client.act("note", "the last word") == ""
        daemon.process.send_signal(kind)
        code, errors = daemon.end()
        assert code == 0, errors
        assert "Traceback" not in errors
        record = load_session(DataFolder(daemon.data).open(), number)
        assert record.actions[-1].text == "the last word"


def test_a_second_daemon_for_the_same_data_is_refused_by_name(tmp_path: Path) -> None:
    with served(tmp_path) as daemon:
        second = meterlog("serve", "--bench", daemon.bench, "--data", daemon.data, "--port", "0")
        assert second.returncode == 4
        assert f"in use by process {daemon.process.pid}" in second.stderr
        assert second.stderr.startswith("meterlog: ")
        assert httpx.get(f"{daemon.url}/api/status", timeout=PATIENCE_S).status_code == 200, (
            "the first goes on"
        )


def test_a_port_in_use_is_said_with_what_to_do(tmp_path: Path) -> None:
    with served(tmp_path) as daemon:
        other = tmp_path / "other"
        busy = meterlog("serve", "--bench", daemon.bench, "--data", other, "--port", str(daemon.port))
        assert busy.returncode == 3
        assert f"port {daemon.port}" in busy.stderr
        assert "--port" in busy.stderr


@pytest.mark.parametrize("host", ["0.0.0.0", "192.0.2.1", "::"])
def test_it_listens_to_this_machine_alone(tmp_path: Path, host: str) -> None:
    data, bench, _ = files_in(tmp_path)
    refused = meterlog("serve", "--bench", bench, "--data", data, "--port", "0", "--host", host)
    assert refused.returncode == 3
    assert "SSH" in refused.stderr
    assert host not in LOOPBACK


def test_killed_it_comes_back_where_it_was(tmp_path: Path) -> None:
    with served(tmp_path) as first, Client(first.data) as client:
        number = client.begin("two", "Recorder", "17", "me")
        assert client.act("skip", "cold") == ""
        os.kill(first.process.pid, signal.SIGKILL)
        first.end()
        with pytest.raises(NoDaemon, match="meterlog serve"):
            client.act("go-on")
    assert meterlog("action", "go-on", "--data", first.data).returncode == 3
    with served(tmp_path) as second, Client(second.data) as client:
        assert client.get("/api/status")["session"] == number
        assert client.get("/api/session")["step"] == "level"
        assert client.act("go-on") == ""
        second.process.send_signal(signal.SIGTERM)
        assert second.end()[0] == 0
    database = DataFolder(second.data).open()
    assert [act.kind for act in load_session(database, number).actions] == [
        "start",
        "skip",
        "interrupted",
        "go-on",
    ]
    assert replay(database, number).differences == ()
