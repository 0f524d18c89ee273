"""Addresses by their shape. Resource names: VPP-4.3, section 4.3.1, from memory."""

import subprocess
import sys
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.bench import BenchError, open_wire
from meterlog.bench.wires import SerialAddress, SocketAddress, VisaAddress, parse_address
from meterlog.reading import Line


@pytest.mark.parametrize(
    ("text", "address"),
    [
        ("/dev/serial/by-id/usb-a:b", SerialAddress("/dev/serial/by-id/usb-a:b")),
        ("ASRL/dev/ttyUSB0::INSTR", SerialAddress("/dev/ttyUSB0")),
        ("asrl/dev/ttyUSB0", SerialAddress("/dev/ttyUSB0")),
        ("TCPIP::192.0.2.7::5025::SOCKET", SocketAddress("192.0.2.7", 5025)),
        ("tcpip0::meter.example::1::socket", SocketAddress("meter.example", 1)),
        ("TCPIP::[2001:db8::1]::5025::SOCKET", SocketAddress("2001:db8::1", 5025)),
        ("TCPIP::192.0.2.7::INSTR", VisaAddress("TCPIP::192.0.2.7::INSTR")),
        ("TCPIP0::192.0.2.7::hislip0,4880::INSTR", VisaAddress("TCPIP0::192.0.2.7::hislip0,4880::INSTR")),
        ("USB0::0x1234::0x5678::A1::INSTR", VisaAddress("USB0::0x1234::0x5678::A1::INSTR")),
        ("GPIB0::9::INSTR", VisaAddress("GPIB0::9::INSTR")),
    ],
)
def test_the_shape_chooses_the_kind(text: str, address: object) -> None:
    """B14: a serial port never goes through VISA, however it is spelt."""
    assert parse_address(text) == address


@pytest.mark.parametrize(
    "text",
    ["", "ttyUSB0", "192.0.2.7:5025", "TCPIP::h::SOCKET", "TCPIP::h::99999::SOCKET", "http://h/", "ASRL1"],
)
def test_what_is_no_address_is_refused_with_examples(text: str) -> None:
    with pytest.raises(BenchError, match=r"is no address; write a port such as /dev/serial"):
        open_wire(text, Line())


@given(st.text())
def test_any_text_is_an_address_or_refused(text: str) -> None:
    with suppress(BenchError):
        parse_address(text)


def test_no_port_library_is_imported_before_a_port_is_opened() -> None:
    """B15: the VISA library alone takes a fifth of a second."""
    code = """
import sys
import meterlog.bench
from meterlog.bench.wires import parse_address
parse_address("TCPIP::192.0.2.7::INSTR"), parse_address("/dev/ttyUSB0")
print(sorted({"pyvisa", "serial", "numpy"} & set(sys.modules)))
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
