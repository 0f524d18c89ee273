"""The two programs of the demonstration as child processes, started as a user would start them."""

import itertools
import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from meterlog.errors import MeterlogError

_PATIENCE_S = 60.0
_STOP_S = 10.0


class DemoError(MeterlogError):
    """The demonstration cannot go on; the text says which part and where its log is."""


class Program:
    """One child process with its output in a log file."""

    def __init__(self, name: str, module: str, arguments: list[str], log: Path) -> None:
        self.name, self._log = name, log
        with log.open("ab") as output:
            self.process = subprocess.Popen(  # noqa: S603 - our own interpreter and modules
                [sys.executable, "-m", module, *arguments],
                stdin=subprocess.DEVNULL,
                stdout=output,
                stderr=subprocess.STDOUT,
                env=os.environ | {"PYTHONUNBUFFERED": "1"},
            )

    def wait_for(self, what: str, look: Callable[[], Any]) -> Any:
        """The first true answer of `look`; DemoError if the program ends or a minute passes before."""
        end_s = time.monotonic() + _PATIENCE_S
        while time.monotonic() < end_s:
            if found := look():
                return found
            if self.process.poll() is not None:
                raise DemoError(f"{self.name} ended by itself before {what}: {self._last_words()}")
            time.sleep(0.05)
        raise DemoError(f"{self.name}: waited a minute for {what}; its log is {self._log}")

    def _last_words(self) -> str:
        lines = self._log.read_text(encoding="utf-8", errors="replace").strip().splitlines()
        return f"{lines[-1] if lines else 'it said nothing'} (log: {self._log})"

    def stop(self) -> None:
        if self.process.poll() is not None:
            return
        self.process.terminate()
        try:
            self.process.wait(_STOP_S)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()


class Programs:
    """The simulated bench and the daemon in one folder; `with` starts and stops both."""

    def __init__(self, folder: Path) -> None:
        """A data folder of its own for each run: an interrupted one would be taken up again."""
        self.folder = folder
        self.bench_folder, self.data = folder / "bench", _fresh(folder)
        self._running: list[Program] = []

    def __enter__(self) -> Self:
        self.data.mkdir(parents=True, exist_ok=True)
        try:
            self.control_url = str(self._start_bench()["control_url"])
            self.start_daemon()
        except BaseException:
            self._stop()
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stop()

    def _start_bench(self) -> dict[str, Any]:
        places = self.bench_folder / "simulate.json"
        places.unlink(missing_ok=True)
        arguments = ["run", "--folder", str(self.bench_folder)]
        bench = self._start("the simulated bench", "meterlog.simulate.main", arguments, "bench.log")
        found: dict[str, Any] = bench.wait_for("its ports were open", lambda: _json(places))
        return found

    def start_daemon(self) -> None:
        """Also again, after the one before has ended."""
        note = self.data / "daemon.json"
        note.unlink(missing_ok=True)
        bench_file = str(self.bench_folder / "bench.toml")
        arguments = ["serve", "--data", str(self.data), "--bench", bench_file, "--port", "0"]
        self.daemon = self._start("the daemon", "meterlog.cli.main", arguments, "daemon.log")
        self.daemon.wait_for("it could be reached", lambda: _json(note))

    def _start(self, name: str, module: str, arguments: list[str], log: str) -> Program:
        program = Program(name, module, arguments, self.folder / log)
        self._running.append(program)
        return program

    def _stop(self) -> None:
        for program in reversed(self._running):
            program.stop()


def _fresh(folder: Path) -> Path:
    runs = (folder / f"run-{number}" for number in itertools.count(1))
    return next(run for run in runs if not run.exists())


def _json(path: Path) -> dict[str, Any] | None:
    """The file's content once it is there and whole."""
    try:
        found: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    except (FileNotFoundError, json.JSONDecodeError):
        return None
    return found
