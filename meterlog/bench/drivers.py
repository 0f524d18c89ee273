"""Drivers are found by their entry points and imported only when a bench file chooses them."""

from importlib.metadata import EntryPoint, entry_points

from meterlog.bench.errors import BenchError
from meterlog.files import FileError
from meterlog.reading import ChecksSettings, ChoosesLine, Driver, DrivesSources, Line, Settings

GROUP = "meterlog.drivers"
_PARTS = ("name", "summary", "maturity", "line", "connect")


def installed_drivers() -> dict[str, EntryPoint]:
    """The drivers that a bench file may name, by name; nothing is imported."""
    return {found.name: found for found in sorted(entry_points(group=GROUP), key=lambda one: one.name)}


def find_driver(name: str) -> EntryPoint:
    """The one entry point of this name, not imported. BenchError: no package offers it, or more than one."""
    # One package may be found twice, as a checkout and installed from it: that is no conflict.
    offers = {found.value: found for found in entry_points(group=GROUP, name=name)}
    if not offers:
        known = ", ".join(installed_drivers()) or "none; install meterlog together with its drivers"
        raise BenchError(f"no driver {name!r} is installed; installed are: {known}")
    if len(offers) > 1:
        packages = " and ".join(f"{_package(offer)} ({offer.value})" for offer in offers.values())
        raise BenchError(f"driver {name!r} is offered by {packages}; uninstall one of them")
    return next(iter(offers.values()))


def load_source_driver(name: str) -> DrivesSources:
    """A driver that can set sources. BenchError as for `load_driver`, or it can only read meters."""
    driver = load_driver(name)
    if not isinstance(driver, DrivesSources):
        raise BenchError(f"driver {name!r} sets no sources; remove the [[source]], or name another driver")
    return driver


def load_driver(name: str) -> Driver:
    """Import a driver. BenchError as for `find_driver`, or it cannot be imported, and what to do."""
    chosen = find_driver(name)
    try:
        driver: Driver = chosen.load()
    except Exception as error:
        raise BenchError(f"driver {name!r} cannot be loaded: {_remedy(chosen, error)}") from error
    if missing := [part for part in _PARTS if not hasattr(driver, part)]:
        raise BenchError(f"driver {name!r} ({chosen.value}) is no driver: it lacks {', '.join(missing)}")
    return driver


def line_for(driver: Driver, settings: Settings) -> Line:
    """How the port of a meter with these settings is opened. ValueError: the settings cannot be."""
    return driver.line_for(settings) if isinstance(driver, ChoosesLine) else driver.line


def check_settings(name: str, settings: Settings) -> None:
    """BenchError: the driver cannot be loaded, or says that these settings cannot be.

    FileError: what is wrong in the file that they name as dialect, with its own lines.
    """
    driver = load_driver(name)
    if not isinstance(driver, ChecksSettings):
        return
    try:
        driver.check(settings)
    except FileError:
        raise
    except ValueError as refusal:
        raise BenchError(str(refusal)) from refusal


def _remedy(chosen: EntryPoint, error: Exception) -> str:
    if isinstance(error, ModuleNotFoundError) and error.name:
        return f"{error}; install {error.name.partition('.')[0]}, which {_package(chosen)} needs"
    return f"{type(error).__name__}: {error}; install {_package(chosen)} anew, or tell its maintainers"


def _package(offer: EntryPoint) -> str:
    return offer.dist.name if offer.dist else "a package without a name"
