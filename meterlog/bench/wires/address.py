"""The shape of an address decides which kind of wire it is.

    /dev/serial/by-id/...              serial port, also as ASRL/dev/ttyUSB0::INSTR
    TCPIP::host::5025::SOCKET          plain TCP
    TCPIP::host::INSTR, USB::..., GPIB::...   through the VISA library
    audio:NAME:in1, audio:NAME:out2@96000     one channel of a sound device; 48000 Hz unless it says otherwise

Serial ports and sockets do not go through VISA, whatever their spelling: it opens ports with its own
settings and without a lock, and blocks for ever on an instrument that babbles.
Source of the resource names: VPP-4.3, section 4.3.1.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass

from meterlog.bench.errors import BenchError
from meterlog.bench.wires.held_off import HeldOffWire
from meterlog.reading import Line, Wire

_SOCKET = re.compile(r"TCPIP\d*::(?P<host>.+)::(?P<port>\d{1,5})::SOCKET", re.IGNORECASE)
_SERIAL_VISA = re.compile(r"ASRL(?P<path>/[^:]+)(::INSTR)?", re.IGNORECASE)
_AUDIO = re.compile(r"audio:(?P<device>.+):(?P<way>in|out)(?P<channel>[1-9]\d?)(@(?P<rate>\d{4,6}))?")
_VISA = re.compile(r"(TCPIP|USB|GPIB|VXI|PXI|PRLGX-TCPIP|PRLGX-ASRL)\d*::.+", re.IGNORECASE)


USUAL_RATE_HZ = 48_000
"""The rate that AES5 prefers."""


@dataclass(frozen=True, slots=True)
class SerialAddress:
    """The path of a port; a link is followed anew at each opening."""

    path: str


@dataclass(frozen=True, slots=True)
class SocketAddress:
    """Host name or IP address, TCP port."""

    host: str
    port: int


@dataclass(frozen=True, slots=True)
class VisaAddress:
    """A resource name for the VISA library."""

    name: str


@dataclass(frozen=True, slots=True)
class AudioAddress:
    """One channel, counted from 1, of a sound device by its name or a part of it."""

    device: str
    channel: int
    plays: bool
    rate_hz: int = USUAL_RATE_HZ


Address = SerialAddress | SocketAddress | VisaAddress | AudioAddress
OpenWire = Callable[[str, Line], Wire]


def parse_address(text: str) -> Address:
    """By its shape alone; nothing is opened or looked for. BenchError says what an address looks like."""
    if text.startswith("/"):
        return SerialAddress(text)
    if serial := _SERIAL_VISA.fullmatch(text):
        return SerialAddress(serial["path"])
    if (tcp := _SOCKET.fullmatch(text)) and 0 < int(tcp["port"]) < 65536:
        return SocketAddress(tcp["host"].strip("[]"), int(tcp["port"]))
    if audio := _AUDIO.fullmatch(text):
        rate_hz = int(audio["rate"] or USUAL_RATE_HZ)
        return AudioAddress(audio["device"], int(audio["channel"]), audio["way"] == "out", rate_hz)
    if _VISA.fullmatch(text) and not text.upper().endswith("::SOCKET"):
        return VisaAddress(text)
    raise BenchError(
        f"{text!r} is no address; write a port such as /dev/serial/by-id/..., "
        "TCPIP::192.168.1.20::5025::SOCKET, a VISA address such as TCPIP::192.168.1.20::INSTR, or a channel "
        "of a sound device such as audio:NAME:in1"
    )


def open_wire(address: str, line: Line) -> Wire:
    """Open the wire that an address names. BenchError: it names none. WireLost: it cannot be opened, and why.

    `line` counts for serial ports only.
    """
    match parse_address(address):
        case SerialAddress(path):
            from meterlog.bench.wires.serial_wire import SerialWire  # noqa: PLC0415 - only if one is used

            wire = SerialWire(path, line)
            return HeldOffWire(wire) if line.flow == "xon/xoff" else wire
        case SocketAddress(host, port):
            from meterlog.bench.wires.socket_wire import SocketWire  # noqa: PLC0415

            return SocketWire(host, port)
        case VisaAddress(name):
            from meterlog.bench.wires.visa_wire import VisaWire  # noqa: PLC0415 - a fifth of a second

            return VisaWire(name)
        case AudioAddress(device, channel, plays, rate_hz):
            from meterlog.bench.wires.audio_wire import open_audio  # noqa: PLC0415

            return open_audio(device, channel, rate_hz, plays=plays)
