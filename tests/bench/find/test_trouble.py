"""What is wrong, by faults and bytes; and what is said of it. The error numbers are those of POSIX."""

import errno
import os

import pytest

from meterlog.bench.find.advice import LINUX, MACOS, WINDOWS, Facts, advice, said, taken_advice
from meterlog.bench.find.candidates import Match
from meterlog.bench.find.listening import Heard
from meterlog.bench.find.raw import dump
from meterlog.bench.find.trouble import Trouble, trouble_heard, trouble_opening
from meterlog.reading import Identity, Line, WireLost


def lost(cause: BaseException) -> WireLost:
    fault = WireLost("in the wire's words")
    fault.__cause__ = cause
    return fault


@pytest.mark.parametrize(
    ("number", "is_there", "trouble"),
    [
        (errno.EBUSY, True, Trouble.IN_USE),
        (errno.EAGAIN, True, Trouble.IN_USE),
        (errno.EACCES, True, Trouble.FORBIDDEN),
        (errno.EPERM, True, Trouble.FORBIDDEN),
        (errno.ENOENT, False, Trouble.ABSENT),
        (errno.EIO, True, Trouble.VANISHED),
        (errno.EIO, False, Trouble.ABSENT),
        (errno.EINVAL, True, Trouble.NO_PORT),
    ],
)
def test_why_a_port_does_not_open(number: int, is_there: bool, trouble: Trouble) -> None:
    fault = lost(OSError(number, os.strerror(number)))
    assert trouble_opening(fault, is_serial=True, is_there=is_there) is trouble


def test_windows_says_in_use_in_its_own_way() -> None:
    """As pyserial 3.5 words it there."""
    fault = lost(OSError("could not open port 'COM5': PermissionError(13, 'Access is denied.', None, 5)"))
    assert trouble_opening(fault, is_serial=True, is_there=True) is Trouble.IN_USE


@pytest.mark.parametrize(
    ("text", "trouble"),
    [
        ("192.0.2.1 port 5025 does not answer; is the instrument on?", Trouble.UNREACHED),
        ("[Errno 13] Access denied (insufficient permissions)", Trouble.USB_FORBIDDEN),
        ("No module named 'usb'", Trouble.USB_UNAIDED),
    ],
)
def test_why_a_far_instrument_is_not_reached(text: str, trouble: Trouble) -> None:
    assert trouble_opening(WireLost(text), is_serial=False, is_there=False) is trouble


@pytest.mark.parametrize(
    ("data", "trouble"),
    [
        (b"", Trouble.SILENT),
        (b"\x00\x00\x00", Trouble.ZEROS),
        (b"AT\r\nATZ\r\n", Trouble.MODEM),
        (b"\x15\x27AT+GCAP\r", Trouble.MODEM),
        (b"\r\nAT+GCAP\r\n", Trouble.MODEM),
        (b"BAT 1.5 V\r\n", Trouble.FOREIGN),
        (b"\x15\x27", Trouble.FOREIGN),
    ],
)
def test_what_came_says_what_is_wrong(data: bytes, trouble: Trouble) -> None:
    heard = [Heard(Line(), b""), Heard(Line(), data)]
    assert trouble_heard(heard) is trouble


def test_nothing_is_wrong_where_something_was_recognised() -> None:
    match = Match("fs9721", "", Line(), Identity(), talks=True)
    assert trouble_heard([Heard(Line(), b"AT\r\n", (), (match,))]) is Trouble.NONE


@pytest.mark.parametrize("trouble", list(Trouble))
@pytest.mark.parametrize("system", [LINUX, WINDOWS, MACOS, "sunos5"])
def test_every_trouble_has_words_and_something_to_do(trouble: Trouble, system: str) -> None:
    facts = Facts("/dev/ttyUSB0", system, holder="someone", group="dialout", tried=("9600 baud 8N1",))
    assert bool(said(trouble, facts)) is (trouble is not Trouble.NONE)
    assert bool(advice(trouble, facts)) is (trouble is not Trouble.NONE)


def test_the_group_that_owns_the_port_is_named() -> None:
    assert "usermod -a -G uucp" in advice(Trouble.FORBIDDEN, Facts("/dev/ttyUSB0", group="uucp"))[0]
    assert "root alone" in advice(Trouble.FORBIDDEN, Facts("/dev/ttyUSB0", group="root"))[0]


def test_what_was_tried_is_named() -> None:
    assert "tried: 2400 baud 8N1" in said(Trouble.FOREIGN, Facts("/dev/x", tried=("2400 baud 8N1",)))


def test_both_services_that_take_adapters_are_named() -> None:
    text = " ".join(taken_advice(LINUX))
    assert "brltty" in text
    assert "ModemManager" in text
    assert "ID_MM_DEVICE_IGNORE" in text


def test_a_silent_meter_that_was_not_asked_may_want_to_be() -> None:
    for tried in ((), ("9600 baud 8N1",)):
        asked = advice(Trouble.SILENT, Facts("/dev/x", tried=tried))
        unasked = advice(Trouble.SILENT, Facts("/dev/x", tried=tried, asked=False))
        assert unasked[:-1] == asked


def test_raw_bytes_are_written_as_a_manual_prints_them() -> None:
    lines = dump(b"\x15+1.5 V\r\n" + bytes(10) + b"tail", most=20)
    assert lines == [
        "15 2B 31 2E 35 20 56 0D 0A 00 00 00 00 00 00 00  .+1.5 V.........",
        "00 00 00 74                                      ...t",
        "and 3 more bytes",
    ]
    assert dump(b"") == []
