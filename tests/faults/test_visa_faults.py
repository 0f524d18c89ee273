"""What breaks above the VISA library, with a stand-in for it. Letters and numbers only tell faults apart."""

from typing import Any

import pytest
import pyvisa
from pyvisa.constants import StatusCode

from meterlog.bench.wires import visa_wire
from meterlog.bench.wires.visa_wire import VisaWire
from meterlog.reading import WireLost


class Library:
    """Notes how resources are opened. refusal: what opening ends with."""

    def __init__(self, refusal: StatusCode | None = None) -> None:
        self.refusal = refusal
        self.opened: list[dict[str, Any]] = []
        self.listed = 0

    def open_resource(self, name: str, **how: Any) -> "Library":
        self.opened.append(how)
        if self.refusal is not None:
            raise pyvisa.VisaIOError(self.refusal)
        return self

    def list_resources(self) -> tuple[str, ...]:
        self.listed += 1
        return ()

    def lock_excl(self) -> None:
        raise AssertionError("a lock was asked for")

    lock = lock_excl

    def close(self) -> None:
        pass


def opened(monkeypatch: pytest.MonkeyPatch, library: Library) -> None:
    monkeypatch.setattr(visa_wire, "manager", lambda: library)
    VisaWire("TCPIP::127.0.0.1::hislip0").close()


def test_b11_no_lock_is_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sockets and serial ports know none (VI_ERROR_NSUP_OPER); waits for one ended early (pyvisa-py#583)."""
    library = Library()
    opened(monkeypatch, library)
    assert library.opened == [{"open_timeout": visa_wire.OPEN_MS}]


def test_b11_an_instrument_that_another_computer_holds_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(WireLost, match="not held by another computer"):
        opened(monkeypatch, Library(StatusCode.error_resource_locked))


def test_b13_nothing_is_listed_to_open_an_instrument(monkeypatch: pytest.MonkeyPatch) -> None:
    library = Library()
    opened(monkeypatch, library)
    assert library.listed == 0
