"""Lines of the invented meter of tests/outside, the sums computed apart from its driver."""

from meterlog.quantity import Unit
from meterlog.reading import State
from meterlog.testing import Row, Shown

ROWS = [
    Row("1.2345 V", b"$V+1.2345*62\r\n", [Shown(value=1.2345, unit=Unit.VOLT)]),
    Row("-12.345 V", b"$V-12.345*64\r\n", [Shown(value=-12.345, unit=Unit.VOLT)]),
    Row("470.00 ohm", b"$R+470.00*64\r\n", [Shown(value=470.0, unit=Unit.OHM)]),
    Row("overload", b"$V OL    *75\r\n", [Shown(state=State.OVERLOAD)]),
    Row("a wrong sum", b"$V+1.2345*63\r\n", []),
]
