"""Described meters: a hand-held meter that talks by itself, and two invented ones that are asked."""

from collections.abc import Mapping
from pathlib import Path

from meterlog.quantity import Unit
from meterlog.reading import Coupling, Settings, State
from meterlog.testing import Answers, Row, Shown, Specimen
from meterlog_drivers.declared.ascii import driver

FOLDER = Path(__file__).parent


def volts(line: str, value: float | None, end: str = "\r\n", coupling: Coupling = Coupling.DC) -> Row:
    state = State.OK if value is not None else State.OVERLOAD
    shown = Shown(value=value, state=state, unit=Unit.VOLT, function="voltage", coupling=coupling)
    return Row(line, (line + end).encode("ascii"), [shown])


def answering(answers: Mapping[bytes, bytes]) -> Answers:
    return lambda question: answers.get(question, b"")


SPECIMENS = [
    Specimen(
        driver=driver,
        rows=[
            volts("DCV -1.2345 mV ", -0.0012345),
            volts("DCV  12.345 V ", 12.345),
            volts("DCV  4.7000 V ", 4.7),
            volts("DCV  OL V ", None),
        ],
        settings=Settings(coupling=Coupling.DC, dialect="function-number-unit"),
        period_s=0.5,
    ),
    Specimen(
        driver=driver,
        rows=[
            volts("+1.2345E+0\r\n=>", 1.2345),
            volts("-1.5000E-3\r\n=>", -0.0015),
            volts("+2.0000E+1\r\n=>", 20.0),
            volts("+9.9E+37\r\n=>", None),
        ],
        settings=Settings(coupling=Coupling.DC, dialect=str(FOLDER / "prompting.toml")),
        question=b"VAL?\r",
        answers=lambda: answering({b"VDC\r": b"=>\r\n"}),
        period_s=0.1,
    ),
    Specimen(
        driver=driver,
        rows=[
            volts("N,+012.34 mV", 0.01234),
            volts("N,-1.2345 V", -1.2345),
            volts("N,+0.5000 V", 0.5),
            volts("O,+9.9999 V", None),
        ],
        settings=Settings(coupling=Coupling.DC, dialect=str(FOLDER / "identifying.toml")),
        question=b"RD\r",
        answers=lambda: answering({b"ID\r": b"MODEL 3 no. 7\r\n"}),
        other=lambda: answering({b"ID\r": b"MODEL 3 no. 8\r\n"}),
        period_s=0.1,
    ),
]
