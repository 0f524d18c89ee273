"""Bench meters that speak SCPI: over a socket, VISA or a serial line.

    *IDN?  *OPC?                  who is there, and are answers in step
    *CLS  CONF:VOLT:AC 10         function and range; then the AC filter, the samples, the format
    SYST:ERR?                     after each setting, until 0
    FUNC?  VOLT:AC:RANG:AUTO?     learnt: what it says that it is set to
    READ?                         one reading (or `samples` of them), for ever
    FUNC?;:VOLT:AC:RANG:AUTO?     after each answer: does it say so still? Only then its readings count
    *ESR?  *STB?                  every five seconds: errors, and whether it was switched off and on

With `buffered` the meter measures at its own pace into its memory, and INIT and R? n (or what the dialect has
for them) stand in the place of READ?. Sources are set too: see `meterlog_drivers.scpi.source`.

What differs between meters is a dialect: a file in `dialects/`, or one of the user's own (`dialect` in the
bench file). Where none is named, `meterlog_drivers.scpi.choice` finds out.

Options of the bench file (all optional):
    identity     text that the answer to *IDN? must contain
    resolution   one count in the base unit; needs a range in the channel (the last digit sent; 0 if binary)
    cycles       power-line cycles that one reading integrates over, in place of a resolution
    samples      readings for each READ? (1)
    buffered     true: the meter measures into its memory, and every reading is fetched
    interval     seconds from one reading to the next, of a buffered meter that has a timer
    format       ascii, real32, real64, real32-swapped, real64-swapped (ascii)
    overload     the number this meter sends for overload (9.9E37)
    terminator   how lines end that we send: lf, crlf, cr; with cr answers end by CR too (lf)
    remote       true: SYST:REM before anything else, as one serial family wants it, SYST:LOC at the end

Sources: IEEE 488.2, SCPI-1999; for what differs between makers the heads of the dialects' files.
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
from meterlog_drivers.scpi.asked import AskedMeter
from meterlog_drivers.scpi.buffered import BufferedMeter
from meterlog_drivers.scpi.choice import check, dialect_for, first_dialect
from meterlog_drivers.scpi.conversation import Conversation
from meterlog_drivers.scpi.plan import Plan, is_remote, plan_of, terminator_of
from meterlog_drivers.scpi.probes import probes
from meterlog_drivers.scpi.source import connect_source


class Scpi:
    """See `meterlog.reading.Driver`; of the abilities `ChecksSettings`, `ChoosesLine` and `Recognises`."""

    name = "scpi"
    summary = "bench meters that speak SCPI, over a network socket, VISA or a serial line"
    maturity = Maturity.SIMULATED
    line = Line(baud=9600)

    def check(self, settings: Settings) -> None:
        """See `meterlog.reading.ChecksSettings`."""
        check(settings)

    def line_for(self, settings: Settings) -> Line:
        """See `meterlog.reading.ChoosesLine`."""
        return first_dialect(settings).line.over(self.line)

    def probes(self) -> list[Probe]:
        """See `meterlog.reading.Recognises`."""
        return probes()

    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        """Only an instrument that answers *IDN? as expected is set up, and only then is it connected."""
        check(settings)
        first = first_dialect(settings)
        conversation = Conversation(wire, monotonic_ns, terminator_of(settings.options, first))
        conversation.speak(first)
        conversation.fall_quiet()
        if is_remote(settings.options, first):
            conversation.tell(first.remote.on)
        identity = conversation.synchronise()
        _insist_on(settings, identity)
        conversation.tell("*CLS")
        plan = plan_of(settings, dialect_for(conversation, settings, identity))
        conversation.speak(plan.dialect)
        meter = _meter(conversation, plan, identity, monotonic_ns)
        meter.configure()
        return meter

    def connect_source(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Source:
        """A source is set up by what is asked of it; see `meterlog_drivers.scpi.source` for its options."""
        return connect_source(wire, settings, monotonic_ns)


def _meter(
    conversation: Conversation, plan: Plan, identity: Identity, monotonic_ns: Nanoseconds
) -> AskedMeter | BufferedMeter:
    if plan.memory is None:
        return AskedMeter(conversation, plan, identity, monotonic_ns)
    return BufferedMeter(conversation, plan, plan.memory, identity, monotonic_ns)


def _insist_on(settings: Settings, identity: Identity) -> None:
    wanted = str(settings.options.get("identity", ""))
    if wanted not in identity.text:
        raise WrongMeter(f'"{identity.text}" answers; the bench file wants "{wanted}" in it')


driver = Scpi()
