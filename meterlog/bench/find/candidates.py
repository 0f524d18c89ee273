"""What may be at the end of a line: every probe of every driver that can recognise its meters. Pure, but for
loading the drivers.
"""

from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass

from meterlog.bench.drivers import installed_drivers, load_driver
from meterlog.bench.errors import BenchError
from meterlog.reading import Driver, Identity, Line, Probe, Recognises

_ENDS = (b"\n", b"\r", b"")


@dataclass(frozen=True, slots=True)
class Candidate:
    """One probe of one driver."""

    driver: str
    probe: Probe


@dataclass(frozen=True, slots=True)
class Match:
    """What was recognised: by which driver, at which line (None where a line has no framing), as whom."""

    driver: str
    dialect: str
    line: Line | None
    identity: Identity
    talks: bool
    """Whether it sends by itself, without being asked."""


def recognising(names: Iterable[str] = ()) -> tuple[dict[str, Driver], list[str]]:
    """The drivers that can recognise, all installed ones or those named, and why others could not be asked.

    BenchError: one that was named cannot be loaded, or cannot recognise anything.
    """
    wanted = tuple(names)
    found: dict[str, Driver] = {}
    faults: list[str] = []
    for name in wanted or installed_drivers():
        try:
            driver = load_driver(name)
        except BenchError as error:
            if wanted:
                raise
            faults.append(str(error))
            continue
        if isinstance(driver, Recognises):
            found[name] = driver
        elif wanted:
            raise BenchError(f"driver {name!r} cannot recognise its meters; write its entry by hand")
    return found, faults


def candidates_of(drivers: dict[str, Driver]) -> list[Candidate]:
    """All probes, each driver's likeliest first. Drivers are strangers: one that fails has none."""
    found: list[Candidate] = []
    for name, driver in drivers.items():
        with suppress(Exception):
            assert isinstance(driver, Recognises)
            found += [Candidate(name, probe) for probe in driver.probes()]
    return found


def by_line(candidates: Sequence[Candidate]) -> dict[Line, list[Candidate]]:
    """A port is opened once for each line, however many probes want it so."""
    found: dict[Line, list[Candidate]] = {}
    for candidate in candidates:
        found.setdefault(candidate.probe.line, []).append(candidate)
    return found


def questions(candidates: Sequence[Candidate]) -> dict[bytes, float]:
    """What is to be sent, each once, and how long to wait for the answer.

    Whole lines first: a bare letter sent before would become a part of them. So would a line that ends by CR,
    for an instrument whose lines end by LF.
    """
    asked = sorted(
        (one.probe for one in candidates if one.probe.question),
        key=lambda probe: [probe.question.endswith(end) for end in _ENDS].index(True),
    )
    waits: dict[bytes, float] = {}
    for probe in asked:
        waits[probe.question] = max(probe.listen_s, waits.get(probe.question, 0.0))
    return waits


def for_far_lines(candidates: Sequence[Candidate], *, talks: bool) -> list[Candidate]:
    """Those that may be tried where anything may be at the other end: no bare letters, no binary requests.

    talks: whether something may come there without being asked for.
    """
    return [
        one for one in candidates if one.probe.question.endswith(b"\n") or (talks and not one.probe.question)
    ]


def silence_s(candidates: Sequence[Candidate]) -> float:
    """How long those that talk by themselves may be silent; 0 if there are none."""
    return max((one.probe.listen_s for one in candidates if not one.probe.question), default=0.0)


def recognised(
    candidates: Sequence[Candidate], heard: bytes, asked: Sequence[bytes], line: Line | None
) -> list[Match]:
    """All that fits what was heard, the likeliest first. An answer counts only if it was asked for."""
    found = [
        Match(one.driver, one.probe.dialect, line, identity, not one.probe.question)
        for one in candidates
        if not one.probe.question or one.probe.question in asked
        if (identity := _identity(one.probe, heard)) is not None
    ]
    return list(dict.fromkeys(found))


def _identity(probe: Probe, heard: bytes) -> Identity | None:
    with suppress(Exception):
        return probe.recognise(heard)
    return None
