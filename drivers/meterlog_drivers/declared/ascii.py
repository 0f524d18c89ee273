"""Meters that speak in lines of text and are described in a file: a dialect. See docs/dialects.md.

The bench file names the description, one's own or one that comes with meterlog:

    driver = "ascii"
    dialect = "my-meter.toml"

What is written there decides whether the meter is asked or talks by itself, and how its port is opened.
Options: identity   text that the description's name, or what the meter says it is, must contain.
"""

from collections.abc import Callable, Sequence
from functools import partial

from meterlog.reading import Identity, Line, Maturity, Meter, Nanoseconds, Probe, Settings, Wire, WrongMeter
from meterlog.shipped import shipped
from meterlog_drivers.declared.described import Described, described_by
from meterlog_drivers.declared.line_file import load_lines
from meterlog_drivers.declared.line_meters import AskedMeter, LineStream
from meterlog_drivers.declared.line_model import Tables
from meterlog_drivers.declared.line_plan import KIND, Plan, plan_of
from meterlog_drivers.talking import NEVER_S, Listener, TalkingMeter

RECOGNISED_LINES = 2


class Ascii:
    """The driver; see `meterlog.reading.Driver`."""

    name = "ascii"
    summary = "meters that speak in lines of text, as a dialect file describes them"
    maturity = Maturity.SIMULATED
    line = Line()

    def check(self, settings: Settings) -> None:
        """See `meterlog.reading.ChecksSettings`."""
        plan_of(settings)

    def line_for(self, settings: Settings) -> Line:
        """See `meterlog.reading.ChoosesLine`."""
        return plan_of(settings).tables.line.over(self.line)

    def probes(self) -> Sequence[Probe]:
        """See `meterlog.reading.Recognises`: the shipped dialects of meters that talk by themselves."""
        return [probe for path in shipped("dialects") if (probe := _probe_of(path.stem))]

    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        """Wait for the first reading, or find out who answers and set it up."""
        plan = plan_of(settings)
        meter = _asked(wire, plan, monotonic_ns) if plan.tables.ask else _talking(wire, plan, monotonic_ns)
        wanted = str(settings.options.get("identity", ""))
        if wanted not in meter.identity.text:
            raise WrongMeter(f'"{meter.identity.text}" is read; the bench file wants "{wanted}" in it')
        return meter


def _asked(wire: Wire, plan: Plan, monotonic_ns: Nanoseconds) -> Meter:
    tables = plan.tables
    assert tables.ask is not None
    meter = AskedMeter(wire, plan, tables.ask, monotonic_ns)
    meter.set_up()
    return meter


def _talking(wire: Wire, plan: Plan, monotonic_ns: Nanoseconds) -> Meter:
    tables = plan.tables
    listener = Listener(
        wire,
        monotonic_ns,
        partial(LineStream, tables, plan.selected),
        look_at="is the meter on, its sending switched on, the lead seated?",
        advice=f"wrong speed, or another format? The dialect says {tables.line.over(Line())}",
        told_s=tables.receive.idle or NEVER_S,
    )
    meter = TalkingMeter(listener, plan.described.identity(), tables.head.period)
    meter.wait_for_first()
    return meter


def _probe_of(dialect: str) -> Probe | None:
    """Only a line whose words are in tables tells; a bare number may come from anything."""
    try:
        described = described_by(dialect, KIND, load_lines)
    except ValueError:
        return None
    tables = described.tables
    telling = all({"unit", "function"} <= template.fields for _, template in tables.shapes())
    if tables.ask is not None or not telling:
        return None
    return Probe(tables.line.over(Line()), b"", 3.0 * tables.head.period, _recogniser(described), dialect)


def _recogniser(described: Described[Tables]) -> Callable[[bytes], Identity | None]:
    def recognise(heard: bytes) -> Identity | None:
        """Two lines that fit; one may not: that in the middle of which the listening began."""
        stream = LineStream(described.tables, {})
        fitting = stream.feed(heard, 0)
        enough = len(fitting) >= RECOGNISED_LINES and stream.misfits <= 1
        return described.identity() if enough else None

    return recognise


driver = Ascii()
