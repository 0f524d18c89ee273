"""The meters of a session: what they said they are, how old their calibrations were, what they can do."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date

from meterlog.accuracy import Specification
from meterlog.bench import load_specification_text
from meterlog.reading import Coupling
from meterlog.records.beginning import digest_of
from meterlog.records.session import Instrument
from meterlog.report.corrections import profile_words
from meterlog.report.model import MeterUsed
from meterlog.report.session import Session, local_time


def meters_of(session: Session) -> Iterator[MeterUsed]:
    """Each once, when first seen; one that came back as another is another."""
    first: dict[Instrument, Instrument] = {}
    for instrument in session.instruments:
        first.setdefault(replace(instrument, seen_time_ns=0, since_sequence=0), instrument)
    for instrument in first.values():
        yield _meter(session, instrument)


def _meter(session: Session, instrument: Instrument) -> MeterUsed:
    bench = session.bench_at(instrument.since_sequence)
    named = " ".join(part for part in (instrument.maker, instrument.model) if part)
    text = bench.specifications.get(instrument.meter, "")
    described = load_specification_text(text, f"specification of {instrument.meter}") if text else None
    channels = tuple(channel for channel, meter in bench.meters.items() if meter == instrument.meter)
    holds = _holds_days(described, [bench.reads[channel] for channel in channels]) if described else None
    return MeterUsed(
        name=instrument.meter,
        driver=instrument.driver,
        identity=named or instrument.text,
        serial_number=instrument.serial_number,
        version=instrument.version,
        calibrated=instrument.calibrated,
        age=_age_text(_days(instrument.calibrated, session.time(0).date()), holds),
        channels=channels,
        seen=local_time(instrument.seen_time_ns, session.zone),
        specification=described.title if described else "",
        specification_digest=digest_of(text) if text else "",
        profiles=tuple(profile_words(bench, instrument.meter)),
    )


def _days(calibrated: str, on: date) -> int | None:
    """None where the bench file says nothing, or nothing that is a day."""
    try:
        return (on - date.fromisoformat(calibrated)).days
    except ValueError:
        return None


def _holds_days(described: Specification, reads: Iterable[tuple[str, Coupling]]) -> float | None:
    """Days after calibration for which it states something of all that the meter read."""
    used = [described.capability(*one) for one in reads]
    return min(
        (max(row.days for row in one.accuracies) for one in used if one and one.accuracies), default=None
    )


def _age_text(days: int | None, holds_days: float | None) -> str:
    """How long before the session, and what that means for the specification."""
    if days is None:
        return ""
    if days < 0:
        return "after this session"
    late = holds_days is not None and days > holds_days
    return f"{days} days before" + (f"; its specification holds for {holds_days:g}" if late else "")
