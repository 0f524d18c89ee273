"""Which name of a port is written down. The ports are made up, their names as Linux gives them (udev)."""

from pathlib import Path

import pytest

from meterlog.bench import BenchError
from meterlog.bench.find import find_port, name_ports, serial_ports, visa_names
from tests.bench.find.kit import as_listed, port


def test_a_name_by_id_is_best() -> None:
    [found] = name_ports([port("/dev/ttyUSB0", by_id="usb-A1", by_path="pci-1")])
    assert found.address == "/dev/serial/by-id/usb-A1"
    assert found.note == ""


def test_two_adapters_that_say_the_same_are_told_apart_by_path() -> None:
    """Only the one plugged in last has the name by id."""
    found = name_ports(
        [
            port("/dev/ttyUSB0", by_path="pci-1"),
            port("/dev/ttyUSB1", by_id="usb-A1", by_path="pci-2"),
            port("/dev/ttyACM0", by_id="usb-B", by_path="pci-3", usb="1:2:B"),
        ]
    )
    assert [one.address.removeprefix("/dev/serial/") for one in found] == [
        "by-path/pci-1",
        "by-path/pci-2",
        "by-id/usb-B",
    ]
    assert found[0].twins == ("/dev/ttyUSB1",)
    assert "/dev/ttyUSB1" in found[0].note
    assert found[2].twins == ()


def test_the_two_ports_of_one_adapter_are_no_twins() -> None:
    found = name_ports([port("/dev/ttyUSB0", by_id="usb-A1-if00"), port("/dev/ttyUSB1", by_id="usb-A1-if01")])
    assert [one.twins for one in found] == [(), ()]
    assert found[1].address.endswith("if01")


def test_twins_without_lasting_names_are_said_to_be_so() -> None:
    found = name_ports([port("COM3"), port("COM4")])
    assert [one.address for one in found] == ["COM3", "COM4"]
    assert all("may be another one after replugging" in one.note for one in found)


def test_an_adapter_without_a_serial_number_is_named_with_a_warning() -> None:
    [found] = name_ports([port("/dev/ttyUSB0", by_id="usb-x", usb="1a86:7523:")])
    assert found.address == "/dev/serial/by-id/usb-x"
    assert "no serial number" in found.note


def test_a_built_in_port_keeps_its_name() -> None:
    [found] = name_ports([port("/dev/ttyS0", usb="")])
    assert (found.address, found.note) == ("/dev/ttyS0", "")


def test_a_port_is_found_by_any_of_its_names() -> None:
    ports = name_ports([port("/dev/ttyUSB0", by_id="a", by_path="b"), port("/dev/ttyS0", usb="")])
    for name in ("/dev/ttyUSB0", "/dev/serial/by-id/a", "/dev/serial/by-path/b"):
        assert find_port(ports, name) is ports[0]
    assert find_port(ports, "/dev/ttyUSB7") is None


def test_the_system_is_asked_for_ports_and_their_links(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    devices = [tmp_path / "ttyUSB1", tmp_path / "ttyUSB0", tmp_path / "ttyS0"]
    for device in devices:
        device.touch()
    for folder, link, device in (
        ("by-id", "usb-A2", devices[0]),
        ("by-path", "pci-usbv2-1", devices[0]),
        ("by-path", "pci-usb-1", devices[0]),
        ("by-path", "pci-usb-2", devices[1]),
    ):
        (tmp_path / folder).mkdir(exist_ok=True)
        (tmp_path / folder / link).symlink_to(device)
    listed = [
        as_listed(str(devices[0]), "A2"),
        as_listed(str(devices[1]), None),
        as_listed(str(devices[2]), None, vid=None),
    ]
    monkeypatch.setattr("meterlog.bench.find.listing.list_ports.comports", lambda: listed)
    found = serial_ports(tmp_path)
    assert [one.address for one in found] == [
        str(devices[2]),
        str(tmp_path / "by-path/pci-usb-2"),
        str(tmp_path / "by-id/usb-A2"),
    ]
    assert found[2].port.by_path.endswith("pci-usb-1")
    assert found[2].port.usb == "0403:6001:A2"
    assert found[0].port.description == ""


class _Hanging:
    def list_resources(self, _: str) -> tuple[str, ...]:
        import threading

        threading.Event().wait(5.0)
        return ()


class _Quick:
    def list_resources(self, _: str) -> tuple[str, ...]:
        return ("TCPIP::192.0.2.7::INSTR", "ASRL/dev/ttyUSB0::INSTR")


def test_the_visa_library_lists_no_serial_ports(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("meterlog.bench.wires.visa_wire.manager", _Quick)
    assert visa_names() == ["TCPIP::192.0.2.7::INSTR"]


def test_a_visa_library_that_hangs_is_left_behind(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("meterlog.bench.wires.visa_wire.manager", _Hanging)
    with pytest.raises(BenchError, match=r"nothing within 0\.1 s; name the instrument with --address"):
        visa_names(0.1)


def test_a_visa_library_that_fails_is_quoted(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail() -> None:
        raise ValueError("no backend")

    monkeypatch.setattr("meterlog.bench.wires.visa_wire.manager", fail)
    with pytest.raises(BenchError, match="no backend"):
        visa_names()
