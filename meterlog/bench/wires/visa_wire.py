"""Instruments that the VISA library reaches: HiSLIP, VXI-11, USB, GPIB.

These carry messages: an answer comes only when it is fetched, and fetching where nothing was asked is an
error of the instrument's (IEEE 488.2, query error, from memory). So `read` fetches only after something was
written, until the whole answer has come, and never with a wait of 0.

The library runs its time-outs on the wall clock. A clock set back can hold one call; the link that waits
for it is called stale meanwhile (`Link.watch`).
"""

import logging
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from functools import cache
from typing import Any

import pyvisa
from pyvisa.constants import StatusCode

from meterlog.reading import WireLost

OPEN_MS = 3000
WRITE_MS = 3000
CHUNK_BYTES = 20480


class VisaWire:
    """See `meterlog.reading.Wire`. WireLost when the library cannot open the name, and why.

    Opened is not connected: some dead addresses open, and only the first question fails.
    """

    def __init__(self, name: str) -> None:
        self._name = name
        self._answer_is_due = False
        with self._translated():
            self._resource: Any = manager().open_resource(name, open_timeout=OPEN_MS)

    def read(self, wait_s: float) -> bytes:
        if not self._answer_is_due or wait_s <= 0.0:
            time.sleep(max(0.0, wait_s))
            return b""
        with self._translated():
            try:
                return self._fetch(wait_s)
            except pyvisa.VisaIOError as error:
                if error.error_code != StatusCode.error_timeout:
                    raise
                return b""

    def write(self, data: bytes) -> None:
        with self._translated():
            self._resource.timeout = WRITE_MS
            self._resource.write_raw(data)
        self._answer_is_due = True

    def drop_input(self) -> None:
        """Device clear. An answer that crosses it makes the library fail: WireLost, and a fresh line."""
        self._answer_is_due = False
        with self._translated():
            try:
                self._resource.clear()
            except pyvisa.VisaIOError as error:
                if error.error_code != StatusCode.error_nonsupported_operation:
                    raise

    def close(self) -> None:
        with suppress(Exception):
            self._resource.close()

    def _fetch(self, wait_s: float) -> bytes:
        self._resource.timeout = max(1, round(wait_s * 1000.0))
        # That there is more is no warning to anybody: it is fetched next.
        with self._resource.ignore_warning(StatusCode.success_max_count_read):
            data, status = self._resource.visalib.read(self._resource.session, CHUNK_BYTES)
        self._answer_is_due = status == StatusCode.success_max_count_read
        return bytes(data)

    @contextmanager
    def _translated(self) -> Iterator[None]:
        """Backends raise whatever their sockets and USB libraries do, bare Exception included."""
        try:
            yield
        except Exception as error:
            words = " ".join(str(error).split()) or type(error).__name__
            raise WireLost(
                f"{self._name}: the VISA library says: {words}; is the instrument on and connected, and not "
                "held by another computer?"
            ) from error


@cache
def manager() -> pyvisa.ResourceManager:
    """The one manager of this process. It is never closed: that would end every instrument's session."""
    # It logs a trace for each failed attempt: an absent instrument would fill the log. Links say it once.
    logging.getLogger("pyvisa").setLevel(logging.CRITICAL)
    return pyvisa.ResourceManager("@py")
