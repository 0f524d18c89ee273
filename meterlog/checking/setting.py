"""A point on a bench: which channels are read for it, with the bench's own meters."""

from dataclasses import dataclass, replace

from meterlog.bench import Bench, BenchError, Channel, MeterEntry
from meterlog.bench.bench_model import settings_of
from meterlog.bench.drivers import check_settings
from meterlog.checking.errors import CheckError
from meterlog.checking.points_file import Point
from meterlog.files import FileError

CHECKED, SECOND = "checked", "second"
"""Channels that are read for a point."""


@dataclass(frozen=True, slots=True)
class Setting:
    """`bench` has the channel CHECKED alone, set up for `point`, and SECOND beside it where another meter is
    the reference."""

    point: Point
    bench: Bench

    @property
    def meter(self) -> MeterEntry:
        return self._of(CHECKED)

    @property
    def second(self) -> MeterEntry | None:
        return self._of(SECOND) if self.point.against else None

    @property
    def channel(self) -> Channel:
        return self.bench.channels[0]

    def _of(self, name: str) -> MeterEntry:
        (channel,) = [one for one in self.bench.channels if one.name == name]
        return self.bench.meter(channel.meter)


def setting_of(point: Point, bench: Bench, meter: str) -> Setting:
    """CheckError: the bench does not offer what the point asks for."""
    if point.drive and bench.source is None:
        raise CheckError(f"point {point.name!r} is to be driven, and the bench file has no [[source]]")
    checked = _checked(point, bench, meter)
    channels = (checked, _second(point, bench, meter)) if point.against else (checked,)
    meters = tuple(
        one.model_copy(update={"options": one.options | point.options}) if one.name == meter else one
        for one in bench.meters
    )
    setting = Setting(point, replace(bench, channels=channels, meters=meters))
    for entry in filter(None, (setting.meter, setting.second)):
        _insist_on_settings(setting, entry)
    return setting


def _insist_on_settings(setting: Setting, entry: MeterEntry) -> None:
    """What the driver says against them is told before anything is opened."""
    try:
        check_settings(entry.driver, settings_of(entry, setting.bench.channels_of(entry.name)))
    except (BenchError, FileError) as error:
        raise CheckError(f"point {setting.point.name!r}: {error}") from error


def meter_on(bench: Bench, name: str) -> str:
    """The meter that is meant; "" means the only one. CheckError: none or several."""
    names = [one.name for one in bench.meters]
    if name in names:
        return name
    if not name and len(names) == 1:
        return names[0]
    asked = f"no meter {name!r}" if name else "several meters"
    raise CheckError(f"{asked} on {bench.name!r}: write --meter with one of {', '.join(map(repr, names))}")


def _checked(point: Point, bench: Bench, meter: str) -> Channel:
    """Filter, lag and, if the point names none, range as the bench reads this function of the meter."""
    alike = [
        one
        for one in bench.channels_of(meter)
        if (one.function, one.coupling) == (point.function, point.coupling)
    ]
    like = alike[0] if alike else None
    checked = Channel(
        name=CHECKED,
        meter=meter,
        function=point.function,
        coupling=point.coupling,
        range=point.range or (like.range if like else None),
        ac_filter=point.ac_filter or (like.ac_filter if like else None),
    )
    return checked.model_copy(update={"lag": like.lag}) if like else checked


def _second(point: Point, bench: Bench, meter: str) -> Channel:
    named = {channel.name: channel for channel in bench.channels}
    found = named.get(point.against)
    if found is None:
        raise CheckError(f"point {point.name!r}: no channel {point.against!r}; there are {', '.join(named)}")
    if found.meter == meter:
        raise CheckError(f"point {point.name!r}: {point.against!r} is a channel of {meter!r} itself")
    if (found.function, found.coupling) != (point.function, point.coupling):
        raise CheckError(
            f"point {point.name!r}: {point.against!r} measures {found.function} {found.coupling}"
        )
    if point.uncertainty is None and found.meter not in bench.specifications:
        raise CheckError(
            f"point {point.name!r}: nobody knows how sure {found.meter!r} is; write uncertainty there, or "
            "its specification into the bench file"
        )
    return found.model_copy(update={"name": SECOND, "display": 1})
