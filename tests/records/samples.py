"""Invented records for the tests of the record, plain ones and any that hypothesis can think of."""

from hypothesis import strategies as st

from meterlog.accuracy import Verdict
from meterlog.accuracy.budget import Line, Source
from meterlog.accuracy.spread import Shape
from meterlog.procedure.events import (
    Acted,
    ActionKind,
    Ending,
    Event,
    Measured,
    Pass,
    Role,
    SessionEnded,
    SettledValue,
    StepEnded,
    Ticked,
)
from meterlog.quantity import Unit
from meterlog.reading import Coupling, Reading, State
from meterlog.records import Instrument, SessionStart

START = SessionStart(
    unit_model="Two-track recorder",
    unit_serial="0042",
    operator="A. Nyman",
    procedure_title="Alignment",
    procedure_text="[procedure]\ntitle = 'Alignment'\n",
    bench_text="[bench]\nname = 'Left bench'\n",
    began_time_ns=1_790_000_000_000_000_000,
    origin_ns=12_345,
    boot_id="6f0c",
    software="0.1.0",
)


def measured(at_ns: int, value: float | None = 1.25, channel: str = "output") -> Measured:
    reading = Reading(
        monotonic_ns=START.origin_ns + at_ns,
        time_ns=START.began_time_ns + at_ns,
        channel=channel,
        value=value,
        unit=Unit.VOLT,
        state=State.OVERLOAD if value is None else State.OK,
        raw=b"+1.2500E+0\n",
    )
    return Measured(at_ns, reading)


def settled(number: int, value: float = 1.25, at_ns: int = 1) -> SettledValue:
    return SettledValue(
        number=number,
        place=0,
        step="level",
        condition="",
        pass_=Pass.AS_FOUND,
        role=Role.MEASURED,
        channel="output",
        value=value,
        unit=Unit.VOLT,
        standard_uncertainty=1e-4,
        degrees_of_freedom=float("inf"),
        expanded_uncertainty=2e-4,
        coverage_factor=2.0,
        readings=5,
        since_ns=0,
        at_ns=at_ns,
        target=1.2,
        low=None,
        high=1.3,
        verdict=Verdict.PASS,
        round=1,
        attempt=1,
        replaces=None,
    )


# Whatever a 64-bit column keeps; infinities too (degrees of freedom), but never NaN.
INTEGERS = st.integers(-(2**63) + 1, 2**63 - 1)
COUNTS = st.integers(0, 2**31 - 1)
FLOATS = st.floats(allow_nan=False)
TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=20)

READINGS = st.builds(
    lambda value, gone, **fields: Reading(value=None if gone else value, state=gone or State.OK, **fields),
    value=FLOATS,
    gone=st.none() | st.sampled_from([state for state in State if state is not State.OK]),
    monotonic_ns=INTEGERS,
    time_ns=INTEGERS,
    channel=TEXTS,
    unit=st.sampled_from(Unit),
    coupling=st.sampled_from(Coupling),
    resolution=FLOATS,
    range_max=st.none() | FLOATS,
    function=TEXTS,
    flags=st.frozensets(TEXTS, max_size=4),
    raw=st.binary(max_size=20),
    display=COUNTS,
)
EVENTS: st.SearchStrategy[Event] = st.one_of(
    st.builds(Measured, INTEGERS, READINGS),
    st.builds(Acted, INTEGERS, st.sampled_from(ActionKind), TEXTS, st.none() | COUNTS),
    st.builds(Ticked, INTEGERS),
)
ENDINGS = st.builds(
    StepEnded,
    place=COUNTS,
    step=TEXTS,
    pass_=st.sampled_from(Pass),
    attempt=COUNTS,
    ending=st.sampled_from(Ending),
    verdict=st.sampled_from(Verdict),
    began_ns=INTEGERS,
    at_ns=INTEGERS,
    reason=TEXTS,
)
SESSION_ENDINGS = st.builds(SessionEnded, verdict=st.sampled_from(Verdict), at_ns=INTEGERS)


FINITE = st.floats(allow_nan=False, allow_infinity=False)
LINES = st.builds(
    Line,
    source=st.builds(Source, TEXTS, FINITE, st.sampled_from(Shape), FINITE | st.just(float("inf"))),
    sensitivity=FINITE,
    contribution=FINITE,
)


def settled_values(number: int) -> st.SearchStrategy[SettledValue]:
    """Any value of this number, which must be the only one of a session."""
    limits = st.none() | FLOATS
    return st.builds(
        SettledValue,
        number=st.just(number),
        place=COUNTS,
        step=TEXTS,
        condition=TEXTS,
        pass_=st.sampled_from(Pass),
        role=st.sampled_from(Role),
        channel=TEXTS,
        value=FLOATS,
        unit=st.sampled_from(Unit),
        standard_uncertainty=FLOATS,
        degrees_of_freedom=FLOATS,
        expanded_uncertainty=FLOATS,
        coverage_factor=FLOATS,
        readings=COUNTS,
        since_ns=INTEGERS,
        at_ns=INTEGERS,
        target=limits,
        low=limits,
        high=limits,
        verdict=st.sampled_from(Verdict),
        round=COUNTS,
        attempt=COUNTS,
        replaces=st.none() | COUNTS,
        about=st.none() | COUNTS,
        correction=st.none() | FLOATS,
        lower=limits,
        upper=limits,
        budget=st.lists(LINES, max_size=3).map(tuple),
    )


INSTRUMENTS = st.builds(
    Instrument,
    meter=TEXTS,
    driver=TEXTS,
    maker=TEXTS,
    model=TEXTS,
    serial_number=TEXTS,
    version=TEXTS,
    text=TEXTS,
    calibrated=TEXTS,
    seen_time_ns=INTEGERS,
    since_sequence=INTEGERS,
)
STARTS = st.builds(
    SessionStart,
    unit_model=TEXTS,
    unit_serial=TEXTS,
    operator=TEXTS,
    procedure_title=TEXTS,
    procedure_text=TEXTS,
    bench_text=TEXTS,
    specifications=st.dictionaries(TEXTS, TEXTS, max_size=2),
    profiles=st.dictionaries(TEXTS, TEXTS, max_size=2),
    began_time_ns=INTEGERS,
    origin_ns=INTEGERS,
    boot_id=TEXTS,
    software=TEXTS,
)
