"""What the system and the VISA library know to be there. Listing opens nothing."""

import threading
import warnings
from pathlib import Path

from serial.tools import list_ports

from meterlog.bench.errors import BenchError
from meterlog.bench.find.ports import NamedPort, Port, name_ports

_LASTING = Path("/dev/serial")
VISA_S = 10.0


def serial_ports(lasting: Path = _LASTING) -> list[NamedPort]:
    """Every serial port, with the name to write down. Quick: the system is asked, no port is opened."""
    by_id, by_path = _links(lasting / "by-id"), _links(lasting / "by-path")
    return name_ports(
        [
            Port(
                device=found.device,
                description=_described(found.description),
                by_id=by_id.get(_real(found.device), ""),
                by_path=by_path.get(_real(found.device), ""),
                usb=f"{found.vid:04x}:{found.pid:04x}:{found.serial_number or ''}" if found.vid else "",
                has_serial_number=bool(found.serial_number),
            )
            for found in sorted(list_ports.comports(), key=lambda one: one.device)
        ]
    )


def visa_names(wait_s: float = VISA_S) -> list[str]:
    """What the VISA library finds by itself (never a raw socket), without serial ports.

    It asks around on the network and may hang, so it gets a thread and a time. BenchError: not done in time,
    or it failed.
    """
    found: list[str] = []
    fault: list[Exception] = []
    asking = threading.Thread(target=_ask_visa, args=(found, fault), name="visa list", daemon=True)
    asking.start()
    asking.join(wait_s)
    if asking.is_alive():
        raise BenchError(
            f"the VISA library has listed nothing within {wait_s:g} s; name the instrument with --address, "
            "such as TCPIP::192.168.1.20::INSTR"
        )
    if fault:
        raise BenchError(f"the VISA library lists nothing: {fault[0]}; name the instrument with --address")
    return found


def _ask_visa(found: list[str], fault: list[Exception]) -> None:
    try:
        from meterlog.bench.wires.visa_wire import manager  # noqa: PLC0415 - a fifth of a second

        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # it misses packages that only help it to list more
            names = manager().list_resources("?*")
        found += sorted(name for name in names if not name.upper().startswith("ASRL"))
    except Exception as error:  # noqa: BLE001 - told by the one who asked
        # Backends raise whatever their sockets and USB libraries do.
        fault.append(error)


def _links(folder: Path) -> dict[str, str]:
    """The shortest link to each device: a device may have two by path."""
    links = sorted(folder.glob("*"), key=lambda link: (-len(link.name), link.name))
    return {_real(str(link)): str(link) for link in links}


def _real(path: str) -> str:
    return str(Path(path).resolve())


def _described(text: str | None) -> str:
    return "" if text in (None, "n/a") else str(text)
