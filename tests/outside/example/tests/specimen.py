"""Lines of the invented meter, the sums computed apart from the driver."""

from example_meter import driver

from meterlog.quantity import Unit
from meterlog.reading import Coupling, State
from meterlog.testing import Row, Shown, Specimen


def volts(value: float | None, state: State = State.OK) -> Shown:
    return Shown(value=value, state=state, unit=Unit.VOLT, function="voltage", coupling=Coupling.DC)


SPECIMEN = Specimen(
    driver=driver,
    rows=[
        Row("1.2345 V", b"$V+1.2345*62\r\n", [volts(1.2345)]),
        Row("-12.345 V", b"$V-12.345*64\r\n", [volts(-12.345)]),
        Row("overload", b"$V OL    *75\r\n", [volts(None, State.OVERLOAD)]),
        Row("470.00 ohm", b"$R+470.00*64\r\n", [Shown(value=470.0, unit=Unit.OHM, function="resistance")]),
        Row("a wrong sum", b"$V+1.2345*63\r\n", []),
    ],
    period_s=0.5,
)
