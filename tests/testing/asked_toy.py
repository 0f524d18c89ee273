"""A driver for an invented meter that is asked: I for its identity, M for a reading, both ended by CR."""

import re
from collections.abc import Sequence

from meterlog.quantity import Unit
from meterlog.reading import (
    Coupling,
    Garbled,
    Identity,
    Indication,
    Line,
    Maturity,
    Meter,
    Nanoseconds,
    Settings,
    State,
    Unanswered,
    Wire,
    WrongMeter,
)
from meterlog.testing import Answers, Row, Shown, Specimen

DEADLINE_S = 1.0
QUIET_S = 0.3
QUIET_LIMIT_S = 2.0
NUMBER = re.compile(rb"[+-]\d\.\d{4}")


class AskedToy:
    period_s = 0.5

    def __init__(self, wire: Wire, monotonic_ns: Nanoseconds) -> None:
        self.wire = wire
        self.monotonic_ns = monotonic_ns
        self.next_ns = monotonic_ns()
        self.resynchronise()

    def poll(self, wait_s: float) -> Sequence[Indication]:
        self.rest()
        at_ns = self.monotonic_ns()
        self.next_ns = at_ns + round(self.period_s * 1e9)
        content = self.ask(b"M\r")
        return [self.indication(content, at_ns)]

    def rest(self) -> None:
        """Before it has measured anew it would say the same number again."""
        while (left_ns := self.next_ns - self.monotonic_ns()) > 0:
            self.wire.read(left_ns / 1e9)

    def indication(self, content: bytes, at_ns: int) -> Indication:
        if not NUMBER.fullmatch(content):
            raise Garbled(f"{content!r} is no reading")
        return Indication(
            monotonic_ns=at_ns,
            value=float(content),
            unit=Unit.VOLT,
            state=State.OK,
            coupling=Coupling.DC,
            function="voltage",
            raw=content,
        )

    def ask(self, question: bytes) -> bytes:
        self.wire.write(question)
        deadline_ns, heard = self.monotonic_ns() + round(DEADLINE_S * 1e9), b""
        while (left_ns := deadline_ns - self.monotonic_ns()) > 0:
            heard = (heard + self.wire.read(left_ns / 1e9))[:100]
            if heard.endswith(b"\r"):
                return heard[:-1]
        return self.give_up(heard)

    def give_up(self, heard: bytes) -> bytes:
        raise Unanswered(f"only {heard!r} came")

    def resynchronise(self) -> None:
        self.wire.drop_input()
        deadline_ns = self.monotonic_ns() + round(QUIET_LIMIT_S * 1e9)
        while self.wire.read(QUIET_S):
            if self.monotonic_ns() > deadline_ns:
                raise Garbled("it does not fall quiet")
        # A late reading would be taken for the identity here, and is not one.
        name = self.ask(b"I\r")
        if not name.startswith(b"TOY"):
            raise Garbled(f"{name!r} is no identity")
        self.identity = Identity(text=name.decode("ascii"))

    def close(self) -> None:
        pass


class ToyDriver:
    name = "toy"
    summary = "a meter that exists only in a test"
    maturity = Maturity.VECTORS
    line = Line()
    kind: type[AskedToy] = AskedToy

    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        if settings.dialect or set(settings.options) - {"identity"}:
            raise ValueError("no dialects, no option but identity")
        meter = self.kind(wire, monotonic_ns)
        if str(settings.options.get("identity", "")) not in meter.identity.text:
            raise WrongMeter("another toy")
        return meter


def answering(name: bytes) -> Answers:
    return lambda question: name + b"\r" if question == b"I\r" else b""


def specimen(kind: type[AskedToy] = AskedToy) -> Specimen:
    driver = ToyDriver()
    driver.kind = kind
    rows = [
        Row(text, text.encode("ascii") + b"\r", [Shown(value=float(text), unit=Unit.VOLT)])
        for text in ("+1.2345", "-0.5000", "+9.8765", "+0.0001")
    ]
    return Specimen(
        driver=driver,
        rows=rows,
        question=b"M\r",
        answers=lambda: answering(b"TOY 1"),
        other=lambda: answering(b"TOY 2"),
        settings=Settings(coupling=Coupling.DC),
    )
