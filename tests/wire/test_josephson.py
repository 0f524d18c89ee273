"""A real voltmeter's readings through real wires, the daemon and the database: none lost, none twice.

NIST/SEMATECH e-Handbook 1.4.2.4, Josephson junction cryothermometry, 700 voltage counts (SOULEN.DAT); mean
2898.56143 and standard deviation 1.30497 as printed there. Here a count is a millivolt, so that a handheld's
four digits can show it; the decimal point is the only thing that moves.
"""

import math
import statistics
from contextlib import closing
from decimal import Decimal
from pathlib import Path

import httpx
import pytest

from meterlog.accuracy import coverage_factor
from meterlog.daemon.access import TOKEN_HEADER
from meterlog.detect import Motion, Settled
from meterlog.procedure import Measured
from meterlog.reading import State
from meterlog.records import DataFolder, iter_readings, replay
from tests.daemon.desk import PATIENCE_S, wait_until
from tests.daemon.process import meterlog, served
from tests.detect.signals import column, table
from tests.trials.settling.proportion import clopper_pearson
from tests.wire.counts_on_wires import AskedMeter, TalkingMeter

COUNTS = [int(count) for count in column("nist_handbook/josephson_soulen.csv", "y")]
PRINTED = table("nist_handbook/josephson_soulen.toml")["printed"]
MILLI = Decimal(1000)
NEXT = 25  # readings that a settled value is compared with
pytestmark = [pytest.mark.wire, pytest.mark.slow]

PROCEDURE = """
[procedure]
title = "Counts"
revision = "1"
unit = "A reference"
[[channel]]
name = "asked"
unit = "V"
coupling = "dc"
[[channel]]
name = "talking"
unit = "V"
coupling = "dc"
"""
# The record lasts 14 s. At 5 mV a step takes 2.4 s at most, wherever in it it begins; at 3 mV up to 6 s.
STEP = """
[[step]]
id = "{id}"
title = "{id}"
pattern = "measure"
setup = "Wait."
channel = "{channel}"
settle = "5 mV"
dwell = "0.4 s"
"""
BENCH = """
[bench]
name = "Counts"
[[meter]]
name = "asked"
driver = "scpi"
address = "{asked}"
[[meter]]
name = "talking"
driver = "fs9721"
address = "{talking}"
[[channel]]
name = "asked"
meter = "asked"
function = "voltage"
coupling = "dc"
[[channel]]
name = "talking"
meter = "talking"
function = "voltage"
coupling = "dc"
"""


@pytest.fixture(scope="module")
def recorded(tmp_path_factory: pytest.TempPathFactory) -> DataFolder:
    """The data folder after both meters have shown all counts within one session."""
    folder = tmp_path_factory.mktemp("counts")
    asked = AskedMeter([f"{count / 1000:+.8E}" for count in COUNTS])
    talking = TalkingMeter([f"{count / 1000:.3f}" for count in COUNTS], folder / "port")
    with closing(asked), closing(talking):
        _record(folder, asked, talking)
    return DataFolder(folder / "data")


def all_live(links: list[dict[str, str]]) -> bool:
    return all(link["state"] == "live" for link in links)


def _record(folder: Path, asked: AskedMeter, talking: TalkingMeter) -> None:
    (folder / "procedures").mkdir()
    steps = [
        STEP.format(id=f"{channel}-{n}", channel=channel)
        for n in range(3)
        for channel in ("asked", "talking")
    ]
    (folder / "procedures" / "counts.toml").write_text(PROCEDURE + "".join(steps))
    bench = BENCH.format(asked=asked.address, talking=talking.address)
    with served(folder, bench=bench) as daemon:
        client = httpx.Client(base_url=daemon.url, headers={TOKEN_HEADER: daemon.token}, timeout=PATIENCE_S)
        with client:
            wait_until(
                lambda: all(link["state"] == "live" for link in client.get("/api/status").json()["links"])
            )
            begun = client.post("/api/sessions", json={"procedure": "counts", "unit_model": "Reference"})
            assert begun.status_code == 200, begun.text
            asked.begin.set()
            talking.begin.set()
            for _ in range(6):
                assert client.post("/api/session/action", json={"kind": "go-on"}).json()["accepted"]
                wait_until(lambda: client.get("/api/session").json()["guide"]["awaiting_go_on"])
            wait_until(lambda: asked.done.is_set() and talking.done.is_set())
        daemon.process.terminate()
        daemon.end()


def stored(recorded: DataFolder, channel: str) -> list[Measured]:
    """The readings with a number, in the order in which the engine got them."""
    found = iter_readings(recorded.open(), 1, channel)
    return [measured for measured in found if measured.reading.state is State.OK]


@pytest.mark.parametrize("channel", ["asked", "talking"])
def test_none_is_lost_and_none_comes_twice(recorded: DataFolder, channel: str) -> None:
    values = [measured.reading.value for measured in stored(recorded, channel)]
    assert [round(value * 1000) for value in values if value is not None] == COUNTS


@pytest.mark.parametrize("channel", ["asked", "talking"])
def test_the_stored_readings_have_the_published_mean_and_spread(recorded: DataFolder, channel: str) -> None:
    counts = [Decimal(str(measured.reading.value)) * MILLI for measured in stored(recorded, channel)]
    assert f"{statistics.mean(counts):.5f}" == str(PRINTED["mean"]) == "2898.56143"
    assert f"{statistics.stdev(counts):.5f}" == str(PRINTED["sd"]) == "1.30497"


@pytest.mark.parametrize("channel", ["asked", "talking"])
def test_a_settled_value_covers_the_mean_of_the_next_readings_as_often_as_it_claims(
    recorded: DataFolder, channel: str
) -> None:
    """95.45 % are claimed, of what the next mean, not sure itself, differs by. The times are those at which
    the wires delivered. Means of the next 25 readings overlap: every 25th says something of its own."""
    readings = stored(recorded, channel)
    detector = Settled(lambda _: 3e-3, 0.4)
    inside = judged = 0
    values = [measured.reading.value or 0.0 for measured in readings]
    for index, measured in enumerate(readings[:-NEXT]):
        found = detector.update(measured.at_ns / 1e9, measured.reading.value, State.OK, resolution=1e-3)
        if found.motion is not Motion.SETTLED or index < 100:  # the slow noise has to be learnt first
            continue
        assert found.value is not None
        assert found.standard_uncertainty is not None
        reach = coverage_factor(found.degrees_of_freedom or 1.0) * found.standard_uncertainty
        following = values[index + 1 : index + 1 + NEXT]
        theirs = coverage_factor(NEXT - 1) * statistics.stdev(following) / math.sqrt(NEXT)
        judged += 1
        inside += abs(statistics.mean(following) - found.value) <= math.hypot(reach, theirs)
    assert judged > 100  # each pause of a busy machine is a gap, after which the level has to settle anew
    of = judged // NEXT
    low, high = clopper_pearson(round(of * inside / judged), of, 0.99)
    assert low <= 0.9545 <= high, f"{inside} of {judged}"


def test_the_session_replays_to_the_last_bit(recorded: DataFolder) -> None:
    report = replay(recorded.open(), 1)
    assert not report.differences
    assert report.settled_values >= 6
    said = meterlog("replay", "1", "--data", recorded.path)
    assert said.returncode == 0, said.stderr
