"""A handheld meter that talks by itself: FS9721_LP3 frames on a pseudo-terminal, at the true pace."""

import random
import threading
from pathlib import Path

from meterlog.simulate import fs9721_frame
from meterlog.simulate.clock import Clock
from meterlog.simulate.faults import Faults
from meterlog.simulate.meter import MeterModel, MeterPlan, Shown
from meterlog.simulate.terminal import Terminal

FRAME_S = 0.35
BYTE_S = 10 / 2400  # start bit, eight bits, stop bit at 2400 baud
RANGES_VOLTS = (0.4, 4.0, 40.0, 400.0)
DECIMALS = {0.4: (1, True), 4.0: (3, False), 40.0: (2, False), 400.0: (1, False)}
"""Digits behind the point, and whether the display is in millivolts, for each range."""

AC_PLAN = MeterPlan(
    ranges_volts=RANGES_VOLTS,
    counts=4000,
    filter_s=0.25,
    noise_counts=0.25,
    noise_of_value=2e-4,
    gain_within=0.007,
)
DC_PLAN = MeterPlan(
    ranges_volts=RANGES_VOLTS, counts=4000, filter_s=0.1, noise_counts=0.25, gain_within=0.005
)


def picture(shown: Shown) -> tuple[str, set[str]]:
    """The display and the annunciators for one reading; a display that changes its range is blank once."""
    decimals, milli = DECIMALS[shown.range_volts]
    lit = {"auto", "volt"} | ({"milli"} if milli else set())
    if shown.range_moved:
        return fs9721_frame.BLANK, lit
    if shown.value is None:
        return fs9721_frame.OVERLOAD, lit
    count = round(shown.value / shown.resolution)
    digits = f"{abs(count):04d}"
    return f"{'-' if count < 0 else ''}{digits[:-decimals]}.{digits[-decimals:]}", lit


class Handheld:
    """See `Port`. One thread looks, encodes and sends until close()."""

    def __init__(self, name: str, model: MeterModel, coupling: str, link: Path, clock: Clock) -> None:
        self.name = name
        self.faults = Faults()
        self._model, self._coupling, self._clock = model, coupling, clock
        self._terminal = Terminal(link)
        self._random = random.Random(name)  # noqa: S311 - noise that must repeat, not a secret
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)

    @property
    def plugged(self) -> bool:
        return self._terminal.is_open

    @property
    def address(self) -> str:
        return str(self._terminal.link)

    def start(self) -> None:
        self.plug()
        self._thread.start()

    def plug(self) -> None:
        self._terminal.open()

    def unplug(self) -> None:
        self._terminal.close()

    def close(self) -> None:
        """Stop sending and take the link away."""
        self._stop.set()
        self._thread.join()
        self._terminal.close()

    def frame(self, at_s: float) -> bytes:
        """The frame of the display at this moment."""
        display, lit = picture(self._model.indicate(at_s))
        return fs9721_frame.encode(display, lit | {self._coupling})

    def _run(self) -> None:
        due_s = self._clock.now_s()
        while not self._until(due_s):
            frame, faults = self.frame(self._clock.now_s()), self.faults
            if not faults.silent and not self._until(self._clock.now_s() + faults.late_s):
                self._send(self._random.randbytes(faults.noise_bytes) + frame)
            due_s = max(due_s + FRAME_S, self._clock.now_s())  # a late frame moves the next, none are made up

    def _send(self, data: bytes) -> None:
        """Byte by byte, as fast as the line is; whoever listens may see any part of a frame."""
        start_s = self._clock.now_s()
        for number, byte in enumerate(data, start=1):
            self._terminal.send(bytes([byte]))
            if self._until(start_s + number * BYTE_S):
                return

    def _until(self, at_s: float) -> bool:
        """Wait; true when the meter was closed meanwhile."""
        return self._stop.wait(max(0.0, at_s - self._clock.now_s()) / self._clock.speed)
