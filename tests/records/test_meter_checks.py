"""Checks of meters and the sessions a meter was in; what is recorded here is made up."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine, text

from meterlog.accuracy import Verdict
from meterlog.procedure.events import Acted, ActionKind, SessionEnded
from meterlog.quantity import Unit
from meterlog.reading import Coupling
from meterlog.records import (
    Instrument,
    MeterCheck,
    NotStored,
    Papers,
    RecordsError,
    Writer,
    add_meter_check,
    list_meter_checks,
    meter_uses,
)
from meterlog.records.engine import for_writing, reading
from tests.records import samples

PAPERS = Papers(points="[checks]\n", bench="[bench]\n", specification="[specification]\n")
CHECK = MeterCheck(
    time_ns=1_790_000_000_123_456_789,
    meter="bench meter",
    driver="scpi",
    maker="MAKER",
    model="MODEL",
    serial_number="S-001",
    text="MAKER,MODEL,S-001,1.0",
    calibrated="2026-03-01",
    point="dc 10 V",
    function="voltage",
    coupling=Coupling.DC,
    unit=Unit.VOLT,
    full_scale=10.0,
    reference="source",
    reference_value=10.00002,
    reference_uncertainty=3e-5,
    indicated=10.0001,
    standard_uncertainty=1e-6,
    degrees_of_freedom=12.5,
    expanded_uncertainty=2.3e-6,
    resolution=1e-5,
    readings=12,
    allowed=4.8e-4,
    every_days=7.0,
    temperature_c=23.1,
)
FLOATS = st.floats(allow_nan=False, allow_infinity=False)


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=50)
@given(
    numbers=st.tuples(FLOATS, FLOATS, st.none() | FLOATS, st.none() | FLOATS),
    texts=st.tuples(samples.TEXTS, samples.TEXTS, samples.TEXTS),
)
def test_what_is_stored_comes_back(
    engine: Engine, numbers: tuple[float, float, float | None, float | None], texts: tuple[str, str, str]
) -> None:
    indicated, reference, allowed, frequency = numbers
    meter, point, remark = texts
    check = replace(
        CHECK, indicated=indicated, reference_value=reference, allowed=allowed, frequency_hz=frequency,
        meter=meter, point=point, remark=remark,
    )  # fmt: skip
    before = list_meter_checks(engine)
    add_meter_check(engine, check, PAPERS)
    assert list_meter_checks(engine) == [*before, check]


def test_they_come_in_the_order_of_time_with_their_papers(engine: Engine) -> None:
    later = replace(CHECK, time_ns=CHECK.time_ns + 1)
    add_meter_check(engine, later, replace(PAPERS, specification=""))
    add_meter_check(engine, CHECK, PAPERS)
    assert list_meter_checks(engine) == [CHECK, later]
    with reading(engine) as connection:
        kinds = connection.execute(text("SELECT kind FROM documents ORDER BY kind")).scalars().all()
        lacking = connection.execute(
            text("SELECT count(*) FROM meter_checks WHERE specification_digest IS NULL")
        )
        assert kinds == ["bench", "points", "specification"]  # each text once
        assert lacking.scalar_one() == 1


def test_what_is_no_number_is_refused() -> None:
    with pytest.raises(ValueError, match="indicated is no finite number"):
        replace(CHECK, indicated=float("nan"))


def test_a_record_that_takes_nothing_says_so(engine: Engine) -> None:
    with for_writing(engine).begin() as connection:
        connection.execute(text("DROP TABLE meter_checks"))
    with pytest.raises(NotStored, match=r"check of 'bench meter' was not stored: .*no such table"):
        add_meter_check(engine, CHECK, PAPERS)


def test_a_damaged_row_is_named(engine: Engine) -> None:
    add_meter_check(engine, CHECK, PAPERS)
    with for_writing(engine).begin() as connection:
        connection.execute(text("UPDATE meter_checks SET unit = 'furlong'"))
    with pytest.raises(RecordsError, match="meter_checks, row 1: damaged"):
        list_meter_checks(engine)


def _session(writer: Writer, meter: str, serial: str, began_ns: int, last_ns: int, *, ended: bool) -> int:
    number = writer.begin_session(replace(samples.START, began_time_ns=began_ns))
    for seen in (began_ns + 5, began_ns + 9):  # it went away and came back
        writer.instrument(
            number,
            Instrument(meter=meter, driver="x", serial_number=serial, seen_time_ns=seen, since_sequence=1),
        )
    writer.event(number, 1, Acted(last_ns, ActionKind.START))
    writer.commit(number, 1, [SessionEnded(verdict=Verdict.PASS, at_ns=last_ns)] if ended else [])
    return number


def test_which_meters_were_in_which_session(engine: Engine, writer: Writer) -> None:
    assert meter_uses(engine) == []
    first = _session(writer, "bench meter", "S-001", 1000, 70, ended=True)
    second = _session(writer, "handheld", "", 2000, 80, ended=False)
    found = [
        (one.session.id, one.meter, one.serial_number, one.from_ns, one.until_ns)
        for one in meter_uses(engine)
    ]
    assert found == [(first, "bench meter", "S-001", 1005, 1070), (second, "handheld", "", 2005, 2080)]
