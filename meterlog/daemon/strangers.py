"""Whose readings a session takes: of each channel's meter as it answered before, until a person says that
another one is meant.

A link holds on to the meter that it met first, but only as long as the daemon runs. What answered before that
is known from the record.
"""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from meterlog.records import Instrument, SessionRecord


@dataclass(frozen=True, slots=True)
class Stranger:
    """Another meter than the one that answered for these channels before."""

    now: Instrument
    before: Instrument
    channels: frozenset[str]

    def __str__(self) -> str:
        return f"{self.now.meter!r} is {_who(self.now)}, until now it was {_who(self.before)}"


@dataclass
class Strangers:
    """`answered`: who did, by channel. `at_hand`: those nobody has said are meant, by the meter's name."""

    answered: dict[str, Instrument] = field(default_factory=dict)
    at_hand: dict[str, Stranger] = field(default_factory=dict)

    def meet(self, instrument: Instrument, channels: Iterable[str]) -> Stranger | None:
        """A meter has said who it is. `channels`: those of the session that it answers for. None: it is the
        one that did before, or the first."""
        own = frozenset(channels)
        known = [self.answered[name] for name in sorted(own) if name in self.answered]
        before = next((one for one in known if _is_another(instrument, one)), None)
        self.at_hand.pop(instrument.meter, None)
        if before is None:
            self._take(instrument, own)
            return None
        found = self.at_hand[instrument.meter] = Stranger(instrument, before, own)
        return found

    def accept(self) -> list[Instrument]:
        """All of them are meant."""
        meant = list(self.at_hand.values())
        self.at_hand.clear()
        for one in meant:
            self._take(one.now, one.channels)
        return [one.now for one in meant]

    def _take(self, instrument: Instrument, channels: Iterable[str]) -> None:
        self.answered |= dict.fromkeys(channels, instrument)

    def hold(self, channel: str) -> bool:
        """Whether readings of this channel are a stranger's."""
        return any(channel in one.channels for one in self.at_hand.values())

    def __bool__(self) -> bool:
        return bool(self.at_hand)

    def __str__(self) -> str:
        return "; ".join(map(str, self.at_hand.values()))


def strangers_of(record: SessionRecord) -> Strangers:
    """None yet; knows who answered last for each channel, by the bench that was used then."""
    answered: dict[str, Instrument] = {}
    for one in record.instruments:
        bench = [used for used in record.benches if used.since_sequence <= one.since_sequence][-1]
        answered |= dict.fromkeys(_channels(bench.text, one.meter), one)
    return Strangers(answered)


def _channels(bench_text: str, meter: str) -> list[str]:
    tables: list[Mapping[str, str]] = tomllib.loads(bench_text).get("channel", [])
    return [table["name"] for table in tables if table["meter"] == meter]


def _is_another(now: Instrument, before: Instrument) -> bool:
    """By what stays when an instrument gets new firmware. Of meters that say nothing of themselves, by the
    serial numbers of the bench files, where both say one."""
    if now.text == before.text:
        serials = {now.serial_number, before.serial_number} - {""}
        return len(serials) > 1
    return not any(_lasting(now)) or _lasting(now) != _lasting(before)


def _lasting(one: Instrument) -> tuple[str, ...]:
    return one.maker, one.model, one.serial_number


def _who(one: Instrument) -> str:
    named = one.text or " ".join(filter(None, (one.maker, one.model))) or f"one read by {one.driver!r}"
    serial = f", serial number {one.serial_number}" if one.serial_number not in ("", *_words(named)) else ""
    return f'"{named}"{serial}'


def _words(text: str) -> list[str]:
    return text.replace(",", " ").split()
