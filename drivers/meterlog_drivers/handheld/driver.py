"""A driver for hand-held meters, made from a description of their frames."""

from collections.abc import Mapping, Sequence

from meterlog.reading import (
    Identity,
    Line,
    Maturity,
    Meter,
    Nanoseconds,
    Probe,
    Settings,
    Wire,
    WrongMeter,
)
from meterlog_drivers.handheld.format import Format
from meterlog_drivers.handheld.meter import connected, identity_of

OPTIONS = frozenset({"identity"})
"""identity: text that "NAME frames" must contain; the meter cannot say more about itself."""


class Handheld:
    """See `meterlog.reading.Driver`, `ChecksSettings`, `ChoosesLine` and `Recognises`.

    formats: by dialect, the usual one first under ""; all with one name.
    alike:   dialects that cannot be told from another one by what the meter sends, so a person must choose
    """

    maturity = Maturity.SIMULATED

    def __init__(
        self, summary: str, formats: Mapping[str, Format], alike: frozenset[str] = frozenset()
    ) -> None:
        self.summary = summary
        self._formats = formats
        self._alike = alike
        self.name = formats[""].name
        self.line = formats[""].line

    def check(self, settings: Settings) -> None:
        kind = self._kind(settings)
        wanted = [settings.function] + ([settings.second.function] if settings.second else [])
        for function in wanted:
            if function not in kind.functions:
                have = ", ".join(sorted(kind.functions))
                raise ValueError(f'no function "{function}"; this meter has {have}')
        if max(len(wanted), *settings.displays) > kind.displays:
            told = "one display" if kind.displays == 1 else f"{kind.displays} displays"
            raise ValueError(f"this meter tells of {told} only: remove the channel of another")
        if settings.range_max is not None or settings.ac_filter_hz is not None:
            raise ValueError(
                "range and ac_filter are chosen at this meter's knob: remove them from the channel"
            )
        if unknown := sorted(set(settings.options) - OPTIONS):
            raise ValueError(f"no option {', '.join(unknown)}; the {self.name} driver knows only identity")

    def line_for(self, settings: Settings) -> Line:
        return self._kind(settings).line

    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        """Wait up to 5 s for the first sound frame, or ask until answers follow questions."""
        self.check(settings)
        kind = self._kind(settings)
        known, expected = identity_of(kind).text, str(settings.options.get("identity", ""))
        if expected not in known:
            raise WrongMeter(
                f'the meter can only be known as "{known}"; the bench file wants "{expected}": '
                "remove identity there"
            )
        return connected(kind, wire, monotonic_ns)

    def probes(self) -> Sequence[Probe]:
        return [
            _probe(kind, dialect) for dialect, kind in self._formats.items() if dialect not in self._alike
        ]

    def _kind(self, settings: Settings) -> Format:
        if settings.dialect in self._formats:
            return self._formats[settings.dialect]
        known = ", ".join(f'"{dialect}"' for dialect in self._formats if dialect)
        raise ValueError(
            f'no dialect "{settings.dialect}"; the {self.name} driver knows {known or "none: remove it"}'
        )


def _probe(kind: Format, dialect: str) -> Probe:
    def recognise(heard: bytes) -> Identity | None:
        return identity_of(kind) if kind.decoder().feed(heard, 0) else None

    listen_s = kind.answer_s if kind.question else 2.5 * kind.period_s
    return Probe(kind.line, kind.question, listen_s, recognise, dialect)
