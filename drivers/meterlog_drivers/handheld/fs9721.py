"""Hand-held meters with the FS9721_LP3 chip: 2400 baud 8N1, 14-byte frames, two to three a second.

The meter talks by itself and takes no commands: function, range and hold are chosen at its knob and
told with every frame. Its RS232 annunciator must be lit (often a key held while switching on). The
frame is described in `fs9721_frames`.

Options: identity   text that "fs9721 frames" must contain; the meter cannot say more about itself.
"""

from collections.abc import Sequence

from meterlog.reading import (
    Garbled,
    Identity,
    Indication,
    Line,
    Maturity,
    Meter,
    Nanoseconds,
    Settings,
    Unanswered,
    Wire,
    WrongMeter,
)
from meterlog_drivers.handheld.fs9721_frames import UNITS, Decoder
from meterlog_drivers.period import Period

__all__ = ["Decoder", "driver"]

IDENTITY = Identity(text="fs9721 frames")
FIRST_FRAME_S = 5.0
USUAL_PERIOD_S = 0.4
NONSENSE_BYTES = 200
FUNCTIONS = frozenset({function for _, function in UNITS.values()} | {"diode", "continuity"})


class TalkingMeter:
    """A meter that sends frames whether anyone listens or not."""

    def __init__(self, wire: Wire, monotonic_ns: Nanoseconds) -> None:
        self.identity = IDENTITY
        self.period_s = USUAL_PERIOD_S
        self._wire = wire
        self._monotonic_ns = monotonic_ns
        self._decoder = Decoder()
        self._period = Period(USUAL_PERIOD_S)
        self._first: list[Indication] = []

    def wait_for_first(self) -> None:
        """Keep the first frame for the first poll. Raises Unanswered, Garbled, WireLost."""
        self._first = self._listen(FIRST_FRAME_S)
        if self._first:
            return
        if self._decoder.bytes_since_frame:
            raise Garbled(f"no frame within {FIRST_FRAME_S:g} s, though bytes came: {_WRONG_LINE}")
        raise Unanswered(
            f"nothing came within {FIRST_FRAME_S:g} s: is the meter on, its RS232 annunciator lit, "
            "the lead seated?"
        )

    def poll(self, wait_s: float) -> Sequence[Indication]:
        """See `Meter.poll`; silence is no error here, the link calls it stale."""
        found = self._first or self._listen(wait_s)
        self._first = []
        for indication in found:
            self.period_s = self._period.after(indication.monotonic_ns)
        return found

    def resynchronise(self) -> None:
        """Start afresh: the index nibbles find the next frame by themselves."""
        self._wire.drop_input()
        self._decoder = Decoder()

    def close(self) -> None:
        """Nothing to give back: the meter was never taken from its front panel."""

    def _listen(self, wait_s: float) -> list[Indication]:
        deadline_ns = self._monotonic_ns() + round(wait_s * 1e9)
        while True:
            left_s = max(0.0, (deadline_ns - self._monotonic_ns()) / 1e9)
            data = self._wire.read(left_s)
            found = self._decoder.feed(data, self._monotonic_ns())
            self._refuse_nonsense()
            if found or self._monotonic_ns() >= deadline_ns:
                return found

    def _refuse_nonsense(self) -> None:
        count = self._decoder.bytes_since_frame
        if count >= NONSENSE_BYTES:
            self._decoder = Decoder()
            raise Garbled(f"{count} bytes without a frame: {_WRONG_LINE}")


_WRONG_LINE = "wrong speed or format? These meters send at 2400 baud, 8N1; another kind needs another driver"


class Fs9721:
    """The driver; see `meterlog.reading.Driver`."""

    name = "fs9721"
    summary = "hand-held meters with the FS9721_LP3 chip, over their serial lead"
    maturity = Maturity.SIMULATED
    # Opto-coupled leads are fed from DTR (high) and RTS (low): common practice, harmless to others.
    line = Line(baud=2400, dtr=True, rts=False)

    def check(self, settings: Settings) -> None:
        """See `meterlog.reading.ChecksSettings`."""
        _check(settings)

    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        """Wait up to 5 s for the first good frame."""
        self.check(settings)
        expected = str(settings.options.get("identity", ""))
        if expected not in IDENTITY.text:
            raise WrongMeter(
                f'the meter can only be known as "{IDENTITY.text}"; the bench file wants "{expected}": '
                "remove identity there"
            )
        meter = TalkingMeter(wire, monotonic_ns)
        meter.wait_for_first()
        return meter


def _check(settings: Settings) -> None:
    if settings.function not in FUNCTIONS:
        raise ValueError(f'no function "{settings.function}"; this meter has {", ".join(sorted(FUNCTIONS))}')
    if settings.range_max is not None or settings.ac_filter_hz is not None:
        raise ValueError("range and ac_filter are chosen at this meter's knob: remove them from the channel")
    unknown = sorted(set(settings.options) - {"identity"})
    if unknown:
        raise ValueError(f"no option {', '.join(unknown)}; the fs9721 driver knows only identity")


driver = Fs9721()
