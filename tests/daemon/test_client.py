"""The commands' client: finds the daemon by its data folder and repeats the daemon's own words."""

import json
from pathlib import Path

import pytest

from meterlog.daemon.client import Client
from meterlog.daemon.contact import Contact, published, read_contact
from meterlog.daemon.errors import NoDaemon, Refusal
from meterlog.shipped import shipped
from tests.daemon.conftest import TOKEN, House


@pytest.fixture
def folder(house: House, tmp_path: Path) -> Path:
    contact = {"url": f"http://127.0.0.1:{house.port}", "token": TOKEN, "pid": 1}
    (tmp_path / "daemon.json").write_text(json.dumps(contact))
    return tmp_path


def test_a_session_by_the_client(folder: Path, house: House) -> None:
    with Client(folder) as client:
        number = client.begin("two", "Recorder", "17", "me")
        assert client.act("skip") == "say why the step is skipped"
        assert client.act("skip", "cold") == ""
        assert client.get(f"/api/sessions/{number}")["operator"] == "me"


def test_a_refusal_keeps_the_daemons_words(folder: Path, house: House) -> None:
    with Client(folder) as client, pytest.raises(Refusal) as refused:
        client.begin("three", "Recorder", "", "")
    assert refused.value.status == 422
    assert "three" in str(refused.value)
    assert "two" in refused.value.do


def test_the_stream_ends_as_an_error_not_as_silence(folder: Path, house: House) -> None:
    with Client(folder) as client:
        stream = client.live()
        assert next(stream)["type"] == "live"
        house.desk.hub.close()
        with pytest.raises(NoDaemon, match="no daemon answers"):
            list(stream)


def test_without_a_daemon_it_says_how_to_start_one(tmp_path: Path) -> None:
    with pytest.raises(NoDaemon, match="meterlog serve"):
        Client(tmp_path)
    (tmp_path / "daemon.json").write_text("{half a")
    with pytest.raises(NoDaemon, match=r"daemon\.json cannot be read"):
        Client(tmp_path)


def test_the_contact_is_there_while_it_is_published(tmp_path: Path) -> None:
    contact = Contact("http://127.0.0.1:1", "secret", 7)
    (tmp_path / "daemon.new").write_text("left by a crash")
    with published(tmp_path, contact):
        assert read_contact(tmp_path) == contact
    with pytest.raises(NoDaemon):
        read_contact(tmp_path)


def test_the_shipped_procedures_are_found() -> None:
    assert "tape-machine" in [path.stem for path in shipped("procedures")]
