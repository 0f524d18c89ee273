"""Bench meters that speak SCPI: over a socket, VISA or a serial line.

    *IDN?  *OPC?                  who is there, and are answers in step
    *CLS  CONF:VOLT:AC 10         function and range; then the AC filter, the samples, the format
    SYST:ERR?                     after each setting, until 0
    READ?                         one reading (or `samples` of them), for ever

Sources are set too: see `meterlog_drivers.scpi.source`.

The AC filter has three spellings; they are tried once, when connecting, and the error queue tells.

Options of the bench file (all optional):
    identity     text that the answer to *IDN? must contain
    resolution   one count in the base unit; needs a range in the channel (the last digit sent; 0 if binary)
    samples      readings for each READ? (1)
    format       ascii, real32, real64, real32-swapped, real64-swapped (ascii)
    overload     the number this meter sends for overload (9.9E37)
    terminator   how lines end that we send: lf, crlf, cr; with cr answers end by CR too (lf)
    remote       true: SYST:REM before anything else, as one serial family wants it, SYST:LOC at the end

Sources: IEEE 488.2, SCPI-1999; for what differs between makers see `meterlog_drivers.scpi.dialect`.
"""

from meterlog.reading import (
    Identity,
    Line,
    Maturity,
    Meter,
    Nanoseconds,
    Probe,
    Settings,
    Source,
    Wire,
    WrongMeter,
)
from meterlog_drivers.scpi.conversation import Conversation
from meterlog_drivers.scpi.meter import AskedMeter, take
from meterlog_drivers.scpi.plan import Plan, plan_of
from meterlog_drivers.scpi.probes import probes
from meterlog_drivers.scpi.source import connect_source


class Scpi:
    """The driver; see `meterlog.reading.Driver`."""

    name = "scpi"
    summary = "bench meters that speak SCPI, over a network socket, VISA or a serial line"
    maturity = Maturity.SIMULATED
    line = Line(baud=9600)

    def check(self, settings: Settings) -> None:
        """See `meterlog.reading.ChecksSettings`."""
        plan_of(settings)

    def probes(self) -> list[Probe]:
        """See `meterlog.reading.Recognises`."""
        return probes()

    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        """Only an instrument that answers *IDN? as expected is set up, and only then is it connected."""
        plan = plan_of(settings)
        conversation = Conversation(wire, monotonic_ns, plan.terminator)
        conversation.fall_quiet()
        take(conversation, plan)
        identity = conversation.synchronise()
        _insist_on(plan, identity)
        conversation.tell("*CLS")
        meter = AskedMeter(conversation, plan, identity)
        meter.configure()
        return meter

    def connect_source(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Source:
        """A source is set up by what is asked of it; see `meterlog_drivers.scpi.source` for its options."""
        return connect_source(wire, settings, monotonic_ns)


def _insist_on(plan: Plan, identity: Identity) -> None:
    if plan.identity not in identity.text:
        raise WrongMeter(f'"{identity.text}" answers; the bench file wants "{plan.identity}" in it')


driver = Scpi()
