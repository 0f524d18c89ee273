"""Who is at an address: opened once for each line, heard out, and judged. The edge of this room."""

import sys
import threading
from collections.abc import Callable, Sequence
from contextlib import closing, suppress
from dataclasses import dataclass, field
from pathlib import Path

from meterlog.bench.clock import Clock, SystemClock
from meterlog.bench.find.advice import Facts, advice, said
from meterlog.bench.find.candidates import Candidate, Match, by_line, candidates_of, for_far_lines
from meterlog.bench.find.holder import holder_of
from meterlog.bench.find.listening import Heard, Listener, line_s
from meterlog.bench.find.replayed import shown
from meterlog.bench.find.trouble import Trouble, trouble_heard, trouble_opening
from meterlog.bench.wires import OpenWire, SerialAddress, SocketAddress, VisaAddress, open_wire, parse_address
from meterlog.reading import Driver, Indication, Line, WireLost


@dataclass(frozen=True, slots=True)
class Finding:
    """What was found out about one address.

    matches  who it may be, the likeliest first; empty if nobody knows
    shows    what its displays show, where it could be read from what was heard
    heard    what came, at each line that was tried
    says     what is wrong, `do` what to do about it
    """

    address: str
    matches: tuple[Match, ...] = ()
    shows: tuple[Indication, ...] = ()
    heard: tuple[Heard, ...] = ()
    trouble: Trouble = Trouble.NONE
    says: str = ""
    do: tuple[str, ...] = ()


def found_wrong(trouble: Trouble, facts: Facts, heard: Sequence[Heard] = ()) -> Finding:
    """A finding that recognised nothing."""
    return Finding(
        facts.address,
        heard=tuple(heard),
        trouble=trouble,
        says=said(trouble, facts),
        do=tuple(advice(trouble, facts)),
    )


class _LostWhileOpen(WireLost):
    """It had been opened: what is wrong is another matter than with a line that does not open."""


def _quiet(_: str) -> None:
    pass


@dataclass(slots=True)
class Finder:
    """Tries what the drivers know. `may_ask`: whether anything may be sent. `stop` ends every call soon."""

    drivers: dict[str, Driver]
    may_ask: bool = True
    open_wire: OpenWire = open_wire
    clock: Clock = field(default_factory=SystemClock)
    system: str = sys.platform
    stop: threading.Event = field(default_factory=threading.Event)
    _candidates: list[Candidate] = field(init=False)

    def __post_init__(self) -> None:
        self._candidates = candidates_of(self.drivers)

    def find(self, address: str, progress: Callable[[str], None] = _quiet) -> Finding:
        """BenchError: it is no address. `progress` is told what is being tried, from this thread."""
        kind = parse_address(address)
        heard: list[Heard] = []
        try:
            match kind:
                case SerialAddress():
                    self._hear_port(address, heard, progress)
                case SocketAddress() | VisaAddress():
                    self._hear_far(address, heard, progress, talks=isinstance(kind, SocketAddress))
                case _:
                    return found_wrong(Trouble.NAMELESS, Facts(address, self.system))
        except WireLost as fault:
            return self._lost(address, kind, heard, fault)
        return self._judged(address, heard)

    def _hear_port(self, address: str, heard: list[Heard], progress: Callable[[str], None]) -> None:
        for line, candidates in by_line(self._candidates).items():
            if self.stop.is_set() or any(one.matches for one in heard):
                return
            names = ", ".join(dict.fromkeys(one.driver for one in candidates))
            progress(f"{address}: {line} ({names})")
            heard.append(self._hear(address, line, candidates, line))

    def _hear_far(
        self, address: str, heard: list[Heard], progress: Callable[[str], None], *, talks: bool
    ) -> None:
        """One connection, no framing. A line that carries messages has nothing to say before it is asked."""
        asked = for_far_lines(self._candidates, talks=talks)
        progress(f"{address}: connecting")
        heard.append(self._hear(address, Line(), asked, None))

    def _hear(self, address: str, line: Line, candidates: Sequence[Candidate], framing: Line | None) -> Heard:
        with closing(self.open_wire(address, line)) as wire:
            try:
                return Listener(wire, framing, candidates, self.clock, self.stop, self.may_ask).hear()
            except WireLost as fault:
                raise _LostWhileOpen(str(fault)) from fault

    def _judged(self, address: str, heard: list[Heard]) -> Finding:
        trouble = trouble_heard(heard)
        if trouble is not Trouble.NONE:
            tried = tuple(dict.fromkeys(str(one.line) for one in heard if one.line is not None))
            facts = Facts(address, self.system, tried=tried, asked=self.may_ask)
            return found_wrong(trouble, facts, heard)
        last = heard[-1]
        first = last.matches[0]
        shows = shown(self.drivers[first.driver], first, last.data)
        return Finding(address, last.matches, tuple(shows), tuple(heard))

    def _lost(self, address: str, kind: object, heard: list[Heard], fault: WireLost) -> Finding:
        path = kind.path if isinstance(kind, SerialAddress) else ""
        is_there = bool(path) and Path(path).exists()
        trouble = trouble_opening(fault, is_serial=bool(path), is_there=is_there)
        if path and (isinstance(fault, _LostWhileOpen) or (heard and not is_there)):
            trouble = Trouble.VANISHED
        holder = holder_of(path) if trouble is Trouble.IN_USE else ""
        facts = Facts(address, self.system, holder=holder, group=_group(path), fault=str(fault))
        return found_wrong(trouble, facts, heard)


def longest_s(drivers: dict[str, Driver]) -> float:
    """How long a silent port takes, at most."""
    return sum(line_s(line, own) for line, own in by_line(candidates_of(drivers)).items())


def _group(path: str) -> str:
    with suppress(OSError, KeyError, ValueError, NotImplementedError):
        return Path(path).group() if path else ""
    return ""
