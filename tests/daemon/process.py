"""The command `meterlog` as a process of its own, as a user starts it."""

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tests.daemon.desk import BENCH, PATIENCE_S, PROCEDURE, wait_until

_CHECKOUT = Path(__file__).parents[2]
COMMAND = [sys.executable, "-m", "meterlog.cli.main"]


def environment() -> dict[str, str]:
    """With the checkout's packages, installed or not."""
    path = os.pathsep.join([str(_CHECKOUT), str(_CHECKOUT / "drivers"), os.environ.get("PYTHONPATH", "")])
    return os.environ | {"PYTHONPATH": path, "COLUMNS": "100"}


def meterlog(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
    """Run a command to its end."""
    return subprocess.run(
        [*COMMAND, *map(str, arguments)],
        capture_output=True,
        text=True,
        env=environment(),
        timeout=PATIENCE_S,
        check=False,
    )


@dataclass
class Served:
    """A daemon that runs, and its files."""

    process: subprocess.Popen[str]
    data: Path
    bench: Path
    url: str
    token: str

    @property
    def port(self) -> int:
        return int(self.url.rpartition(":")[2])

    def end(self) -> tuple[int, str]:
        """(exit code, what it wrote to stderr), waiting for it."""
        _, errors = self.process.communicate(timeout=PATIENCE_S)
        return self.process.returncode, errors


def files_in(folder: Path, bench_text: str = BENCH) -> tuple[Path, Path, Path]:
    """(data folder, bench file, folder of procedures). The warm-up outlasts every test: time is real here."""
    procedures = folder / "procedures"
    procedures.mkdir(exist_ok=True)
    (procedures / "two.toml").write_text(PROCEDURE.replace('time = "1 s"', 'time = "20 min"'))
    bench = folder / "bench.toml"
    bench.write_text(bench_text)
    return folder / "data", bench, procedures


@contextmanager
def served(folder: Path, bench: str = BENCH) -> Iterator[Served]:
    """With this text as its bench file. Killed at the end, if it still runs."""
    data, bench_file, procedures = files_in(folder, bench)
    arguments = ["serve", "--bench", bench_file, "--data", data, "--procedures", procedures, "--port", "0"]
    process = subprocess.Popen(
        [*COMMAND, *map(str, arguments)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=environment(),
    )
    try:
        contact = data / "daemon.json"
        wait_until(lambda: process.poll() is not None or _answers(contact, process.pid))
        assert process.poll() is None, process.communicate()
        said = json.loads(contact.read_text())
        yield Served(process, data, bench_file, said["url"], said["token"])
    finally:
        process.kill()
        process.communicate()


def _answers(contact: Path, pid: int) -> bool:
    """One of a daemon killed earlier may still lie there."""
    return contact.exists() and json.loads(contact.read_text())["pid"] == pid
