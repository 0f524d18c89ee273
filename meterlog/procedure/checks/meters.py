"""What the meters of a bench cannot do, as far as it is known what they can.

Each part is judged on the best range there is for it (`meterlog.procedure.checks.looks`), so a complaint is
never about an unlucky choice of range.

    window   from the low to the high limit; it must be two counts of that range at least
    settle   half-width; below one count it rests on averaging alone
    dwell    one that is written shorter than the readings that settle at least cannot be kept
    profile  one that corrects readings and has outlived its days

Beyond the meter's band a level is wrong by an unknown factor. That spoils levels; where only levels at one
frequency are compared (an extremum, a fall, dB about another step) it does not, so there it is a warning. Of
a row of a table it is one too: the other rows are worth taking, and for this one `meterlog.procedure.fitting`
has a reason asked for.
"""

import math
from collections.abc import Iterator, Mapping

from meterlog.accuracy import Conditions, InUse, Profile, Response, Waveform
from meterlog.accuracy.fitness import outdated
from meterlog.accuracy.waveforms import average_over_rms
from meterlog.detect import LEAST_READINGS
from meterlog.procedure.checks.finding import Finding, warning
from meterlog.procedure.checks.looks import Look, beyond_profile, compares, looks, range_of, window_of
from meterlog.procedure.model import PowerDown, Procedure, Rows
from meterlog.procedure.model.base import Settling
from meterlog.procedure.model.rows import Row
from meterlog.quantity import Quantity, Span, Unit, readable_scale

LEAST_COUNTS = 2.0
_REMEDY = "take a finer meter or range"


def meter_findings(
    procedure: Procedure, meters: Mapping[str, InUse], conditions: Mapping[str, Conditions] | None = None
) -> Iterator[Finding]:
    """Both by the names of the channels; of others nothing is known, and nothing said."""
    for index, channel in enumerate(procedure.channels):
        meter = meters.get(channel.name)
        if meter is not None and meter.capability is None:
            asked = f"{meter.function} {meter.coupling}".strip()
            yield Finding(("channel", index, "name"), f"{_named(meter)} measures no {asked}; use another one")
        known = (conditions or {}).get(channel.name)
        if meter is not None and known is not None and (worn := outdated(meter, known)):
            yield warning(("channel", index, "name"), f"{_named(meter)}: {worn}")
    for look in looks(procedure, meters):
        for check in (_of_dwell, _of_level, _of_charge, _of_spans, _of_frequency, _of_waveform):
            yield from check(look)


def _of_level(look: Look) -> Iterator[Finding]:
    if look.level is None:
        return
    field = "expected" if isinstance(look.part, Row) else "target"
    place, meter, range_ = (*look.place, field), _named(look.meter), range_of(look)
    if range_ is None:
        yield Finding(place, f"{look.level} is more than {meter} shows; take another meter or range")
        return
    lowest = look.meter.capability.lowest * range_.full_scale if look.meter.capability else 0.0
    if abs(look.level.base) < lowest:
        least = _shown(lowest, look.unit)
        yield warning(place, f"{look.level} is under {least}, the least {meter} is meant for; {_REMEDY}")


def _of_charge(look: Look) -> Iterator[Finding]:
    """A meter that chooses its range by itself shows the limit on the finest one that holds it."""
    if not isinstance(look.part, PowerDown):
        return
    place, below = (*look.place, "below"), look.part.below
    range_ = look.meter.range_for((below.base,))
    if range_ is not None and _is_less(below.base, LEAST_COUNTS * range_.count):
        count = _shown(range_.count, look.unit)
        yield Finding(place, f"{below} is under two counts of {_named(look.meter)}, {count} each; write more")


def _of_spans(look: Look) -> Iterator[Finding]:
    range_ = range_of(look)
    if range_ is None:
        return
    count = f"one count of {_named(look.meter)} is {_shown(range_.count, look.unit)}"
    window, half = window_of(look), _half(look)
    if window is not None and _is_less(window, LEAST_COUNTS * range_.count):
        message = f"the window is under two counts, {count}; widen it, or {_REMEDY}"
        yield Finding((*look.place, "tolerance"), message)
    if half is not None and _is_less(half, range_.count):
        yield warning((*look.place, "settle"), f"finer than the display, {count}; widen it, or {_REMEDY}")


def _half(look: Look) -> float | None:
    span: Span | None = getattr(look.part, "settle", None)
    if span is None or (look.level is None and span.kind is not look.unit):
        return None
    return span.half_width(look.level.base if look.level else 0.0)


def _is_less(value: float, least: float) -> bool:
    """By more than the rounding of floats: two counts written as 0.2 mV are two counts."""
    return value < least * (1 - 1e-9)


def _of_dwell(look: Look) -> Iterator[Finding]:
    """Only where it is written: what everybody has by default is nobody's mistake."""
    dwell = getattr(look.part, "dwell", 0.0)
    least_s = (LEAST_READINGS - 1) * look.meter.specification.reading_period_s
    if "dwell" in look.part.model_fields_set and _is_less(dwell, least_s):
        yield warning(
            (*look.place, "dwell"),
            f"shorter than {LEAST_READINGS} readings of {_named(look.meter)} take, the least that settle;"
            f" write {least_s:g} s or more",
        )


def _of_frequency(look: Look) -> Iterator[Finding]:
    bands, frequency = look.meter.bands(), look.frequency
    if look.meter.correct and look.meter.profile is not None and look.signal.waveform is Waveform.SINE:
        yield from _of_profile(look, look.meter.profile)
        return
    if frequency is None or not bands or any(band.holds(frequency.base) for band in bands):
        return
    edges = [(_shown(band.low, Unit.HERTZ), _shown(band.high, Unit.HERTZ)) for band in bands]
    meant = " and ".join(f"{low} to {high}" for low, high in edges)
    own = getattr(look.part, "frequency", None) is not None
    judge = Finding if isinstance(getattr(look.part, "target", None), Quantity) else warning
    yield judge(
        (*look.place, "frequency") if own else look.place,
        f"{frequency} is outside {meant}, which {_named(look.meter)} is meant for; take another meter",
    )


def _of_profile(look: Look, profile: Profile) -> Iterator[Finding]:
    """Of a meter that is corrected. A level that cannot be must not stand beside others that are."""
    frequency, of = look.frequency, f"the profile that corrects {_named(look.meter)}"
    if frequency is None:
        if isinstance(look.part, Settling) and not isinstance(look.part, Rows):
            yield warning(look.place, f"no frequency is known, so {of} is not used; write `frequency`")
    elif beyond_profile(look):
        low, high = (_shown(edge, Unit.HERTZ) for edge in (profile.band.low, profile.band.high))
        judge = warning if compares(look) else Finding
        yield judge(
            look.place,
            f"{frequency} is outside {low} to {high} of {of}; measure it on to there, or take another meter",
        )


def _of_waveform(look: Look) -> Iterator[Finding]:
    waveform = look.signal.waveform
    if waveform is Waveform.SINE or look.meter.response is not Response.AVERAGE:
        return
    off = f"{20.0 * math.log10(average_over_rms(waveform)):+.2f} dB off its rms value"
    what = f"{_named(look.meter)} averages and shows {waveform} {off}; take a true-rms meter"
    yield warning(look.place, what)


def _named(meter: InUse) -> str:
    return f"{meter.meter!r} ({meter.specification.title})"


def _shown(value: float, unit: Unit) -> str:
    return str(Quantity(value, readable_scale(value, unit)))
