"""Serial ports as a person tells them apart, and for each the name that stays with it. Pure.

A name by id follows the adapter, a name by path the socket it is plugged into. Adapters without a serial
number, or with the same one, share their name by id: the one plugged in last has it. Only their names by
path can tell them apart.
"""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Port:
    """One serial port that the system knows.

    device    the system's own name, perhaps another one after replugging
    by_id     the lasting name of the adapter, "" where there is none
    by_path   the lasting name of the socket it is plugged into, "" where there is none
    usb       vendor, product and serial number; "" for a port that is not on USB
    has_serial_number  whether the adapter has one
    """

    device: str
    description: str = ""
    by_id: str = ""
    by_path: str = ""
    usb: str = ""
    has_serial_number: bool = True


@dataclass(frozen=True, slots=True)
class NamedPort:
    """A port with the address to write into a bench file.

    twins  devices of other adapters that say the same of themselves
    note   what to think of before writing the address down; "" if nothing
    """

    port: Port
    address: str
    twins: tuple[str, ...] = ()
    note: str = ""


def name_ports(ports: Sequence[Port]) -> list[NamedPort]:
    """All of them, in their order."""
    return [_named(port, _twins(port, ports)) for port in ports]


def find_port(ports: Sequence[NamedPort], address: str) -> NamedPort | None:
    """By any of its names."""
    names = ((one, (one.port.device, one.port.by_id, one.port.by_path)) for one in ports)
    return next((one for one, own in names if address in own), None)


def _twins(port: Port, ports: Sequence[Port]) -> tuple[str, ...]:
    """The two ports of one adapter are no twins: each has a name by id of its own."""
    alike = [other for other in ports if other.usb == port.usb and other.device != port.device]
    if not port.usb or all(one.by_id for one in (port, *alike)):
        return ()
    return tuple(other.device for other in alike)


def _named(port: Port, twins: tuple[str, ...]) -> NamedPort:
    if twins:
        return _twin(port, twins)
    if port.by_id:
        return NamedPort(port, port.by_id, note="" if port.has_serial_number else _NAMELESS)
    if port.by_path:
        return NamedPort(port, port.by_path, note=_STAYS)
    return NamedPort(port, port.device, note=_MAY_MOVE if port.usb else "")


def _twin(port: Port, twins: tuple[str, ...]) -> NamedPort:
    what = f"says the same of itself as {', '.join(twins)}: its name by id may be the other's"
    if port.by_path:
        return NamedPort(port, port.by_path, twins, f"{what}; {_STAYS}")
    return NamedPort(port, port.device, twins, f"{what}, and it has no name by path; {_MAY_MOVE}")


_STAYS = "the name belongs to the USB socket: plug the adapter always into the same one"
_MAY_MOVE = "the name may be another one after replugging: look again before each start"
_NAMELESS = "the adapter has no serial number: another one of its kind would get the same name"
