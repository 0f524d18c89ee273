"""Packages with drivers that exist only in a test."""

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

Offer = Callable[[str, str, str], None]


@pytest.fixture
def offer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Offer:
    """offer(package, entry_points, module_source): install a package whose module is named as itself."""

    def install(package: str, entry_points: str, source: str) -> None:
        folder = tmp_path / f"site-{package}"
        metadata = folder / f"{package}-1.0.dist-info"
        metadata.mkdir(parents=True)
        (metadata / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {package}\nVersion: 1.0\n")
        (metadata / "entry_points.txt").write_text(f"[meterlog.drivers]\n{entry_points}\n")
        (folder / f"{package}.py").write_text(source)
        monkeypatch.syspath_prepend(str(folder))
        monkeypatch.delitem(sys.modules, package, raising=False)

    return install


@pytest.fixture
def plain_driver(offer: Offer) -> None:
    """The driver "plain" of these tests, installed."""
    source = "from tests.bench.kit import PlainDriver\ndriver = PlainDriver()\n"
    offer("meterlog_plain", "plain = meterlog_plain:driver", source)
