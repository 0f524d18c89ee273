"""Lines to instruments: serial, socket, VISA; one module each, none imported before it is needed."""

from meterlog.bench.wires.address import (
    Address,
    OpenWire,
    SerialAddress,
    SocketAddress,
    VisaAddress,
    open_wire,
    parse_address,
)

__all__ = [
    "Address",
    "OpenWire",
    "SerialAddress",
    "SocketAddress",
    "VisaAddress",
    "open_wire",
    "parse_address",
]
