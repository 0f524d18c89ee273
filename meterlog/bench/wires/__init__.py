"""Lines to instruments: serial, socket, VISA, audio; one module each, none imported before it is needed."""

from meterlog.bench.wires.address import (
    Address,
    AudioAddress,
    OpenWire,
    SerialAddress,
    SocketAddress,
    VisaAddress,
    open_wire,
    parse_address,
)

__all__ = [
    "Address",
    "AudioAddress",
    "OpenWire",
    "SerialAddress",
    "SocketAddress",
    "VisaAddress",
    "open_wire",
    "parse_address",
]
