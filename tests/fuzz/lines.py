"""Decoders of text: the lines that a file describes, and the answers of SCPI instruments."""

import re

from meterlog.reading import Coupling, Garbled, Indication, Settings
from meterlog_drivers.declared.line_meters import LineStream
from meterlog_drivers.declared.line_plan import plan_of
from meterlog_drivers.scpi.assembler import Assembler
from meterlog_drivers.scpi.decoder import Decoder
from meterlog_drivers.scpi.dialect_file import find_dialect
from meterlog_drivers.scpi.plan import plan_of as scpi_plan
from tests.fuzz.subject import Feed, Subject

NUMBER = re.compile(rb"\d+\.?\d*(?:[Ee][+-]?\d+)?")

DIALECTS = {
    "function-number-unit": [b"DCV -1.2345 mV \r\n", b"DCV  12.345 V \r\n", b"ACV  0.7750 V \r\n"],
    "polled-letter": [b"DC-1.9999   V\r", b"DC  3.999   V\r", b"AC 199.99  mV\r", b"DC   O.L   V\r"],
    "status-function-number": [b"NDCV+1.23456E+02\r\n", b"NDCV-1.00000E+00\r\n", b"ODCV+2.00000E+01\r\n"],
}
"""Lines of the shape that each dialect describes; made up."""
ANSWERS = [b"+1.23456789E-03\n", b"-1.23450000E+01\n", b"+7.75000000E-01\n", b"+9.90000000E+37\n"]


def dialect(name: str) -> Subject:
    plan = plan_of(Settings(coupling=Coupling.DC, dialect=name))
    masked = plan.tables.line.data_bits == 7
    return Subject(
        name=f"ascii: {name}",
        new=lambda: LineStream(plan.tables, plan.selected).feed,
        frames=DIALECTS[name],
        why_not=_seven_bit_line if masked else _line,
        told=(),
        mask=0x7F if masked else 0xFF,
    )


def scpi() -> Subject:
    return Subject(name="scpi", new=_new_scpi, frames=ANSWERS, why_not=_answer, told=(), dated=False)


def _new_scpi() -> Feed:
    """As a conversation uses them; what is no answer is left out, and the next is taken."""
    plan = scpi_plan(Settings(coupling=Coupling.DC), find_dialect("plain"))
    assembler, decoder = Assembler(), Decoder(plan, {1: plan.displays[0]})

    def feed(data: bytes, at_ns: int) -> list[Indication]:
        found: list[Indication] = []
        for piece in (data, *[b""] * data.count(b"\n")):
            answer = None
            try:
                answer = assembler.feed(piece)
                found += decoder.indications(answer.content, lambda n: [at_ns] * n) if answer else []
            except Garbled:
                if answer is None:
                    assembler.clear()
        return found

    return feed


def _line(shown: Indication, data: bytes, at: int) -> str:
    """A whole line: no text before it, its end behind it; and its number is in it, but for a power of ten."""
    if at and 0x20 <= data[at - 1] < 0x7F:
        return "its line begins before it"
    if data[at + len(shown.raw) :][:1] not in (b"\r", b"\n"):
        return "its line goes on behind it"
    return _number_in(shown, powers=range(-15, 16))


def _seven_bit_line(shown: Indication, data: bytes, at: int) -> str:
    near = bytes(byte & 0x7F for byte in data[max(0, at - 1) : at + len(shown.raw) + 1])
    return _line(shown, near, min(at, 1))


def _answer(shown: Indication, _data: bytes, _at: int) -> str:
    return _number_in(shown, powers=range(1))


def _number_in(shown: Indication, powers: range) -> str:
    if shown.value is None:
        return ""
    numbers = [float(text) for text in NUMBER.findall(shown.raw)]
    wanted = abs(shown.value)
    same = any(abs(n * 10.0**p - wanted) <= 1e-9 * wanted for n in numbers for p in powers)
    return "" if same else "its number is not in its line"
