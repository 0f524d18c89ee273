"""What users get is what is tested: the built wheel, installed elsewhere, run from another folder."""

import json
import os
import site
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import httpx
import pytest

from tests.daemon.desk import BENCH, PATIENCE_S, wait_until

CHECKOUT = Path(__file__).parents[1]


def run(*command: str | Path, **more: object) -> str:
    done = subprocess.run([*map(str, command)], capture_output=True, text=True, check=False, **more)
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("dist")
    run(sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", folder, cwd=CHECKOUT)
    (built,) = folder.glob("meterlog-*.whl")
    return built


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder with the commands of a venv that holds the wheel alone; what it needs comes from this one.

    PYTHONPATH reads no .pth file, so an editable installation of the checkout does not shine through.
    """
    folder = tmp_path_factory.mktemp("elsewhere")
    venv.create(folder / "venv", with_pip=False)
    commands = folder / "venv" / "bin"
    run(
        sys.executable, "-m", "pip", "--python", commands / "python", "install", "--no-deps", "--quiet", wheel
    )
    return commands


def environment() -> dict[str, str]:
    return {key: value for key, value in os.environ.items() if key != "PYTHONPATH"} | {
        "PYTHONPATH": os.pathsep.join(site.getsitepackages()),
        "COLUMNS": "120",
    }


@pytest.mark.parametrize(
    "inside",
    [
        "meterlog/py.typed",
        "meterlog/config/procedures/tape-machine.toml",
        "meterlog/config/bench/example.toml",
        "meterlog/config/meters/handheld-6000.toml",
        "meterlog/config/procedure.schema.json",
        "meterlog/daemon/page/index.html",
        "meterlog/daemon/page/main.js",
        "meterlog/simulate/page/index.html",
        "meterlog_drivers/scpi/driver.py",
        "meterlog_drivers/handheld/fs9721.py",
    ],
)
def test_the_wheel_holds(wheel: Path, inside: str) -> None:
    assert inside in zipfile.ZipFile(wheel).namelist()


@pytest.mark.parametrize(
    ("folder", "ending"),
    [
        ("meterlog/report/templates/", ".j2"),
        ("meterlog/report/templates/", ".typ"),
        ("meterlog/records/migrations/", ".py"),
    ],
)
def test_the_wheel_holds_every_file_of(wheel: Path, folder: str, ending: str) -> None:
    names = [name for name in zipfile.ZipFile(wheel).namelist() if name.startswith(folder)]
    there = [path for path in (CHECKOUT / folder).rglob(f"*{ending}") if "__pycache__" not in path.parts]
    assert there
    assert {str(path.relative_to(CHECKOUT)) for path in there} <= set(names)


def test_installed_elsewhere_it_is_the_wheel_that_runs(installed: Path, tmp_path: Path) -> None:
    where = run(
        installed / "python",
        "-c",
        "import meterlog; print(meterlog.__file__)",
        cwd=tmp_path,
        env=environment(),
    )
    assert str(installed.parent) in where
    listed = run(installed / "meterlog", "drivers", cwd=tmp_path, env=environment())
    assert "scpi" in listed
    assert "fs9721" in listed


def test_installed_elsewhere_it_serves_the_page_and_the_procedures(installed: Path, tmp_path: Path) -> None:
    (tmp_path / "bench.toml").write_text(BENCH)
    arguments = ["serve", "--bench", "bench.toml", "--data", "data", "--port", "0"]
    process = subprocess.Popen([installed / "meterlog", *arguments], cwd=tmp_path, env=environment())
    try:
        contact = tmp_path / "data" / "daemon.json"
        wait_until(contact.exists)
        with httpx.Client(base_url=json.loads(contact.read_text())["url"], timeout=PATIENCE_S) as client:
            assert "<title>" in client.get("/").raise_for_status().text
            names = [offered["name"] for offered in client.get("/api/procedures").raise_for_status().json()]
        assert "tape-machine" in names
    finally:
        process.terminate()
        process.wait(timeout=30)
