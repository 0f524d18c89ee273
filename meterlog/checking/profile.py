"""From checks over frequency to the text of a profile: a meter's response, less that at one.

Each row has the uncertainties of two checks, at its frequency and at that one: those of the reference and the
scatter of the readings at both, as if they had nothing in common. What a reference is wrong by alike at both
falls out in truth; nobody says how much of its uncertainty that is, so this errs on the wide side.
"""

import json
import math
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta

from meterlog.checking.errors import CheckError
from meterlog.quantity import Quantity, Unit, difference_db, readable_scale
from meterlog.reading import Coupling
from meterlog.records import MeterCheck

LONGEST_S = timedelta(hours=12).total_seconds()
"""A sweep is one sitting: what a day apart was measured is no one response."""
K = 2.0
LEAST_DB = 1e-4
"""Under which no row is said to be known, as good as its deviation is written."""
_LEAST_ROWS = 2


def sweep_of(checks: Sequence[MeterCheck], meter: str, points: Sequence[str]) -> list[MeterCheck]:
    """The newest check of a meter at each of these points, upwards in frequency. `meter`: its name or serial
    number; "" means any. CheckError: they are none that a profile can be made of."""
    asked = [one for one in checks if meter in ("", one.meter, one.serial_number) and one.point in points]
    newest = {one.point: one for one in asked if one.frequency_hz}
    found = sorted(newest.values(), key=lambda one: one.frequency_hz or 0.0)
    if not found:
        raise CheckError("no check over frequency is on record for this file; begin with: meterlog check run")
    for what, kind in _ALIKE.items():
        kinds = {kind(one) for one in found}
        if len(kinds) > 1:
            raise CheckError(f"the points were taken with several {what}: {', '.join(sorted(kinds))}")
    first, last = (pick(one.time_ns for one in found) for pick in (min, max))
    if (last - first) / 1e9 > LONGEST_S:
        raise CheckError("the points were not taken on one day; take all of them again")
    return found


_ALIKE: dict[str, Callable[[MeterCheck], str]] = {
    "meters": lambda one: f"{one.meter} {one.serial_number}".strip(),
    "functions": lambda one: f"{one.function} {one.coupling}",
    "ranges": lambda one: "unknown" if one.full_scale is None else _shown(one.full_scale, one.unit),
    "references": lambda one: one.reference,
}


def profile_text(sweep: Sequence[MeterCheck], reference_hz: float, valid_days: float) -> str:
    """CheckError: no profile can be made of these checks."""
    about = next((one for one in sweep if math.isclose(one.frequency_hz or 0.0, reference_hz)), None)
    measured = ", ".join(_hertz(one.frequency_hz) for one in sweep)
    if about is None:
        raise CheckError(
            f"no point is at {_hertz(reference_hz)}, which it is to be about; there are {measured}"
        )
    rows = [_row(one, about) for one in sweep if one is not about]
    if len(rows) < _LEAST_ROWS:
        raise CheckError("three frequencies are the fewest that say what lies between")
    if about.coupling not in (Coupling.AC, Coupling.ACDC):
        raise CheckError(f"{about.function} {about.coupling} has no frequency response")
    if about.full_scale is None:
        raise CheckError(
            "nobody knows its range: write range into the points, or its specification into the bench"
        )
    day = datetime.fromtimestamp(about.time_ns / 1e9, UTC).date()
    head = (
        ("meter", _quoted(about.meter)),
        ("serial_number", _quoted(about.serial_number)),
        ("function", _quoted(about.function)),
        ("coupling", _quoted(about.coupling)),
        ("range", _quoted(_shown(about.full_scale, about.unit))),
        ("measured", str(day)),
        ("valid_days", f"{valid_days:g}"),
        ("against", _quoted(f"{about.reference} {about.reference_serial}".strip())),
        ("reference_frequency", _quoted(_hertz(reference_hz))),
    )
    lines = [f"{key} = {value}" for key, value in head]
    return "\n".join(["[profile]", *lines, *(f"\n{row}" for row in rows), ""])


def _row(one: MeterCheck, about: MeterCheck) -> str:
    deviation_db = _error_db(one) - _error_db(about)
    uncertainty_db = max(K * math.hypot(_standard_db(one), _standard_db(about)), LEAST_DB)
    return "\n".join(
        (
            "[[row]]",
            f"frequency = {_quoted(_hertz(one.frequency_hz))}",
            f"deviation = {_quoted(f'{deviation_db:+.4f} dB')}",
            f"uncertainty = {_quoted(f'{uncertainty_db:.2g} dB')}",
            f"k = {K:g}",
        )
    )


def _error_db(one: MeterCheck) -> float:
    if not one.indicated or not one.reference_value:
        raise CheckError(f"point {one.point!r}: of nothing there is no response")
    return difference_db(one.indicated, one.reference_value)


def _standard_db(one: MeterCheck) -> float:
    of_reference = one.reference_uncertainty / one.reference_factor / abs(one.reference_value)
    return math.hypot(of_reference, one.standard_uncertainty / abs(one.indicated)) * 20.0 / math.log(10.0)


def _shown(base: float, unit: Unit) -> str:
    return str(Quantity(base, readable_scale(base, unit)))


def _hertz(frequency_hz: float | None) -> str:
    return _shown(frequency_hz or 0.0, Unit.HERTZ)


def _quoted(text: str) -> str:
    """As TOML writes it: what JSON escapes, TOML reads."""
    return json.dumps(text, ensure_ascii=False)
