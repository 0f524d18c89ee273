"""What is wrong with a line on which nothing was recognised. Pure: faults and bytes in, one word out."""

import errno
import re
from collections.abc import Sequence
from enum import StrEnum

from meterlog.bench.find.listening import Heard

_MODEM = re.compile(rb"(?:^|[^A-Za-z])AT(?:[EZIHVQ+&$#^][ -~]*)?(?:[\r\n]|$)")
"""A command for a modem, also in the middle of a meter's frames."""
_GONE = (errno.ENOENT, errno.ENODEV, errno.ENXIO, errno.EIO)
_NO_USB_RIGHT = ("access denied", "insufficient permissions", "errno 13", "permission denied")
_NO_USB_HELP = ("no module named 'usb'", "no backend available", "please install pyusb")


class Trouble(StrEnum):
    """One for each thing that a person does about it; NONE where something was recognised."""

    NONE = ""
    HELD = "held by this bench"
    IN_USE = "in use"
    FORBIDDEN = "no permission"
    ABSENT = "not there"
    VANISHED = "vanished"
    NO_PORT = "no serial port"
    SILENT = "silent"
    MODEM = "modem commands"
    ZEROS = "zeros only"
    FOREIGN = "not understood"
    UNREACHED = "not reached"
    USB_FORBIDDEN = "no permission for USB"
    USB_UNAIDED = "no USB library"
    NAMELESS = "cannot say who it is"


def trouble_heard(heard: Sequence[Heard]) -> Trouble:
    """By what came at all the lines that were tried."""
    if any(one.matches for one in heard):
        return Trouble.NONE
    data = b"".join(one.data for one in heard)
    if not data:
        return Trouble.SILENT
    if any(_MODEM.search(one.data) for one in heard):
        return Trouble.MODEM
    return Trouble.FOREIGN if data.strip(b"\x00") else Trouble.ZEROS


def trouble_opening(fault: BaseException, *, is_serial: bool, is_there: bool) -> Trouble:
    """Why a line did not open, or failed while open. `is_there`: whether its port is there now."""
    if not is_serial:
        return _far(str(fault).lower())
    cause = fault.__cause__ or fault
    number = cause.errno if isinstance(cause, OSError) else None
    # On Windows a port in use is told as "access denied", inside the text of the fault.
    if number in (errno.EBUSY, errno.EAGAIN) or "PermissionError(13" in str(cause):
        return Trouble.IN_USE
    if number in (errno.EACCES, errno.EPERM):
        return Trouble.FORBIDDEN
    if number in _GONE or not is_there:
        return Trouble.ABSENT if not is_there else Trouble.VANISHED
    return Trouble.NO_PORT


def _far(text: str) -> Trouble:
    if any(words in text for words in _NO_USB_HELP):
        return Trouble.USB_UNAIDED
    return Trouble.USB_FORBIDDEN if any(words in text for words in _NO_USB_RIGHT) else Trouble.UNREACHED
