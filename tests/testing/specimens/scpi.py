"""A meter that follows IEEE 488.2; its readings are made up."""

from meterlog.quantity import Unit
from meterlog.reading import Coupling, Settings, State
from meterlog.testing import Answers, Row, Shown, Specimen
from meterlog_drivers.scpi.driver import driver
from tests.drivers.fake_meter import FakeMeter


def answering(identity: str) -> Answers:
    """Everything but readings."""
    meter = FakeMeter()
    meter.identity = identity
    return lambda question: b"".join(data for _, data in meter(question))


def number(text: str, value: float | None, state: State = State.OK) -> Row:
    shown = Shown(value=value, state=state, unit=Unit.VOLT, function="voltage", coupling=Coupling.DC)
    return Row(text, text.encode("ascii") + b"\n", [shown])


ROWS = [
    # In the form NR3 of IEEE 488.2 (8.7.4); 9.9E37 and 9.91E37 are those of SCPI-1999 vol. 1, 7.2.1.
    number("+1.23456789E-03", 1.23456789e-3),
    number("-1.23450000E+01", -12.345),
    number("+7.75000000E-01", 0.775),
    number("+0.00000000E+00", 0.0),
    number("+9.90000000E+37", None, State.OVERLOAD),
    number("+9.91000000E+37", None, State.INVALID),
]

SPECIMENS = [
    Specimen(
        driver=driver,
        rows=ROWS,
        settings=Settings(coupling=Coupling.DC),
        question=b"READ?\n",
        triggered=True,
        answers=lambda: answering("ACME,M1,123,1.0"),
        other=lambda: answering("ACME,M1,124,1.0"),
        period_s=0.35,
    )
]
