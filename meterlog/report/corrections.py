"""What was taken out of readings, in words: a meter's own frequency response, by a profile of it."""

import math
from collections.abc import Iterator

from meterlog.accuracy import Deviation, Profile
from meterlog.bench import load_profile_text
from meterlog.procedure import SettledValue
from meterlog.procedure.signals import signal_at, signals_of
from meterlog.quantity import Quantity, Unit, difference_db, readable_scale
from meterlog.records.beginning import digest_of
from meterlog.report.bench_text import BenchText
from meterlog.report.session import Session


def correction_words(session: Session, value: SettledValue) -> str:
    """By how much, at which frequency, by the profile of which day; "" for a value as it was shown."""
    if value.correction is None or value.correction == 1.0:  # 1 at the frequency that a profile is about
        return ""
    by = f"corrected by {difference_db(value.correction, 1.0):+.2f} dB"
    for profile, found in _possible(session, value):
        if math.isclose(found.factor, value.correction, rel_tol=1e-12):
            return f"{by} at {_hertz(found.frequency_hz)}, profile of {profile.measured}"
    return by


def profile_words(bench: BenchText, meter: str) -> Iterator[str]:
    """Which profiles a meter had on a bench, and what was done with them."""
    for channel, text in bench.profiles.items():
        if bench.meters.get(channel) == meter:
            profile = load_profile_text(text, f"profile of {channel}")
            done = "taken out of" if channel in bench.corrected else "left in"
            edges = f"{_hertz(profile.band.low)} to {_hertz(profile.band.high)}"
            how = f"measured {profile.measured} against {profile.against}"
            yield (
                f"Own frequency response, {edges}, {how}: {done} the readings of {channel}. "
                f"SHA-256 {digest_of(text)}"
            )


def _possible(session: Session, value: SettledValue) -> Iterator[tuple[Profile, Deviation]]:
    """A session may have been gone on with at another bench, with another profile."""
    hertz = signal_at(signals_of(session.procedure), value.step, value.condition).frequency_hz
    for _, bench in session.benches:
        text = bench.profiles.get(value.channel)
        profile = load_profile_text(text, f"profile of {value.channel}") if text else None
        found = profile.deviation(hertz) if profile and hertz else None
        if profile and found:
            yield profile, found


def _hertz(frequency_hz: float) -> str:
    return str(Quantity(frequency_hz, readable_scale(frequency_hz, Unit.HERTZ)))
