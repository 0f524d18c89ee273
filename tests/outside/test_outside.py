"""A driver from somebody else: built, installed outside the checkout, found, tested by the kit, and read."""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from meterlog.bench import OpenBench, SystemClock, check_drivers, load_bench
from meterlog.testing import PATIENCE_S, Terminal, Witness

EXAMPLE = Path(__file__).parent / "example"
LINE = b"$V+1.2345*62\r\n"

BENCH = """
[bench]
name = "A bench with a stranger's driver"

[[meter]]
name = "invented"
driver = "example"
address = "{address}"

[[channel]]
name = "output"
meter = "invented"
function = "voltage"
coupling = "dc"
"""


def run(*command: str | Path, **more: object) -> str:
    done = subprocess.run([*map(str, command)], capture_output=True, text=True, check=False, **more)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder in which the example is installed; its checkout is a copy, elsewhere."""
    folder = tmp_path_factory.mktemp("outside")
    source = shutil.copytree(EXAMPLE, folder / "source")
    run(sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", folder, cwd=source)
    (wheel,) = folder.glob("*.whl")
    pip = (sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--target", folder / "site")
    run(*pip, wheel)
    return folder / "site"


@pytest.fixture
def environment(site: Path) -> dict[str, str]:
    there = [str(site), *(path for path in sys.path if path)]
    return dict(os.environ) | {
        "PYTHONPATH": os.pathsep.join(there),
        "COLUMNS": "160",
        "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1",
    }


@pytest.fixture
def installed(site: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.syspath_prepend(str(site))
    yield
    sys.modules.pop("example_meter", None)


def test_it_is_listed_with_what_it_is_for_and_how_far_it_is_proven(environment: dict[str, str]) -> None:
    listed = run(Path(sys.executable).with_name("meterlog"), "drivers", env=environment)
    (row,) = [line for line in listed.splitlines() if "example_meter:driver" in line]
    assert "invented" in row
    assert "byte vectors" in row


def test_its_own_tests_pass_where_it_is_installed(environment: dict[str, str], tmp_path: Path) -> None:
    tests = shutil.copytree(EXAMPLE / "tests", tmp_path / "tests")
    said = run(sys.executable, "-m", "pytest", "-q", tests, env=environment, cwd=tmp_path)
    assert "failed" not in said


def test_the_kit_runs_without_a_test_runner(environment: dict[str, str]) -> None:
    said = run(
        sys.executable, "-m", "meterlog.testing", "specimen:SPECIMEN", env=environment, cwd=EXAMPLE / "tests"
    )
    assert {line[:6].strip() for line in said.splitlines()} == {"ok"}


@pytest.mark.usefixtures("installed")
def test_a_bench_file_that_names_it_is_checked(tmp_path: Path) -> None:
    path = tmp_path / "bench.toml"
    path.write_text(BENCH.format(address="/dev/ttyUSB0"), encoding="utf-8")
    check_drivers(load_bench(path), path)


@pytest.mark.wire
@pytest.mark.usefixtures("installed")
def test_it_is_read_from_a_real_port(tmp_path: Path) -> None:
    witness = Witness()
    with Terminal(tmp_path / "adapter") as terminal:
        path = tmp_path / "bench.toml"
        path.write_text(BENCH.format(address=terminal.path), encoding="utf-8")
        bench = OpenBench(load_bench(path), SystemClock(), witness.deliver, witness.on_state)
        bench.start()
        with terminal.talking(LINE):
            witness.wait_for_readings(3)
        assert bench.stop(PATIENCE_S) == []
    assert {(one.channel, one.value, one.raw) for one in witness.readings} == {("output", 1.2345, LINE)}
