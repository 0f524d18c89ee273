"""Who is at the end of the line."""

from dataclasses import replace

from meterlog.reading import Identity, Line, Maturity, WireError, WrongMeter
from meterlog.testing.specimen import Specimen
from meterlog.testing.stage import Stage, connected, usual

NOBODY = "an instrument that does not exist"


def says_what_it_is(specimen: Specimen) -> None:
    """The parts of `meterlog.reading.Driver`."""
    driver = specimen.driver
    assert driver.name, "the driver has no name"
    assert len(driver.summary) > 10, f"summary {driver.summary!r} does not say which meters it is for"
    assert isinstance(driver.maturity, Maturity), f"maturity {driver.maturity!r} is no Maturity"
    assert isinstance(driver.line, Line), f"line {driver.line!r} is no Line"
    meter = connected(specimen, [usual(specimen, specimen.readings[0])]).meter
    assert meter is not None
    assert meter.period_s > 0.0, f"a period of {meter.period_s} s; the link calls silence by it"
    assert isinstance(meter.identity, Identity), f"identity {meter.identity!r} is no Identity"


def knows_another(specimen: Specimen) -> None:
    """The same instrument is the same each time; another one differs, or is not connected."""
    first = _identity(specimen)
    assert _identity(specimen) == first, f"the same instrument is {first} and then another"
    if specimen.other is None:
        return
    other = replace(specimen, answers=specimen.other)
    try:
        second = _identity(other)
    except WireError:
        return
    assert second != first, f"another instrument has the same identity: {first}"


def refuses_the_wrong_identity(specimen: Specimen) -> None:
    """Before it is set up. The option `identity` comes from the bench file."""
    settings = replace(specimen.settings, options={**specimen.settings.options, "identity": NOBODY})
    stage = Stage(specimen, [usual(specimen, row) for row in specimen.readings])
    try:
        stage.connect(settings)
    except WrongMeter:
        return
    except ValueError as error:
        raise AssertionError(f"option identity is refused; every driver must know it: {error}") from error
    raise AssertionError(f"the bench file wants {NOBODY!r}, and connect did not raise WrongMeter")


def _identity(specimen: Specimen) -> Identity:
    meter = connected(specimen, [usual(specimen, specimen.readings[0])]).meter
    assert meter is not None
    return meter.identity
