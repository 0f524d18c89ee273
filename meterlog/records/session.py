"""What the record knows of a session, as plain records."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from meterlog.accuracy import Verdict
from meterlog.procedure.events import Acted, GuardTripped, Outcome, SessionEnded, SettledValue, StepEnded


@dataclass(frozen=True, slots=True, kw_only=True)
class Commission:
    """For whom a session is run and what came with the unit; "" where nobody says.

    customer       name and address, as the customer gave them
    customer_says  what the customer said of the unit
    received       the day on which the unit came, ISO 8601
    work_place     where the work was done, if elsewhere than at the laboratory's address
    """

    customer: str = ""
    customer_says: str = ""
    received: str = ""
    work_place: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionStart:
    """What is known when a session begins.

    began_time_ns   UTC
    origin_ns       the monotonic clock at the zero of the session's time line, within this `boot_id`
    software        version of meterlog
    batch           name of the batch of units that this one belongs to, "" if to none
    specifications  the texts that say what the meters can do, by their names
    profiles        the texts of the meters' own frequency responses, by the names of the channels
    """

    unit_model: str
    unit_serial: str
    operator: str
    procedure_title: str
    procedure_text: str
    bench_text: str
    began_time_ns: int
    origin_ns: int
    boot_id: str
    software: str
    batch: str = ""
    specifications: Mapping[str, str] = field(default_factory=dict)
    commission: Commission = Commission()
    profiles: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchUsed:
    """A bench file of a session: that of its beginning, and another one if it was gone on with there.

    specifications: the texts that say what its meters can do, by their names; profiles: those with their own
    frequency responses, by the names of the channels.
    """

    since_sequence: int
    text: str
    specifications: Mapping[str, str] = field(default_factory=dict)
    profiles: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """A meter as it identified itself. A reconnected one is seen again, with the next `since_sequence`.

    calibrated      as written in the bench file, "" where it says nothing
    seen_time_ns    UTC
    since_sequence  the first event after it was seen
    """

    meter: str
    driver: str
    maker: str = ""
    model: str = ""
    serial_number: str = ""
    version: str = ""
    text: str = ""
    calibrated: str = ""
    seen_time_ns: int
    since_sequence: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionHeader:
    """The line of a session in a list. `ended` is None while it runs, or if it was abandoned."""

    id: int
    unit_model: str
    unit_serial: str
    operator: str
    procedure_title: str
    procedure_digest: str
    bench_digest: str
    began_time_ns: int
    origin_ns: int
    boot_id: str
    software: str
    batch: str = ""
    ended: SessionEnded | None


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptOutcome:
    """An outcome with the event that produced it and its position among the outcomes of that event."""

    sequence: int
    position: int
    outcome: Outcome


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionRecord:
    """A whole session but for its readings, which can be many: `iter_readings`. All in order of sequence."""

    header: SessionHeader
    procedure_text: str
    benches: tuple[BenchUsed, ...]
    instruments: tuple[Instrument, ...]
    actions: tuple[Acted, ...]
    outcomes: tuple[KeptOutcome, ...]
    commission: Commission = Commission()

    @property
    def bench_text(self) -> str:
        """The bench that the session began on: its references are those of every level."""
        return self.benches[0].text

    @property
    def settled_values(self) -> tuple[SettledValue, ...]:
        return tuple(k.outcome for k in self.outcomes if isinstance(k.outcome, SettledValue))

    @property
    def step_endings(self) -> tuple[StepEnded, ...]:
        return tuple(k.outcome for k in self.outcomes if isinstance(k.outcome, StepEnded))

    @property
    def guard_trips(self) -> tuple[GuardTripped, ...]:
        return tuple(k.outcome for k in self.outcomes if isinstance(k.outcome, GuardTripped))

    @property
    def verdict(self) -> Verdict | None:
        """None while the session has not ended."""
        return self.header.ended.verdict if self.header.ended else None
