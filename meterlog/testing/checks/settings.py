"""What a bench file may ask for, sense and nonsense."""

from dataclasses import replace

from meterlog.reading import ChecksSettings, ChoosesLine, Coupling, Settings, Wanted, WireError
from meterlog.testing.specimen import Specimen
from meterlog.testing.stage import Stage, usual

STRANGE = (
    Settings(function="loudness"),
    Settings(function="", coupling=Coupling.ACDC),
    Settings(function="resistance", coupling=Coupling.AC),
    Settings(range_max=-1.0),
    Settings(range_max=float("nan"), ac_filter_hz=float("inf")),
    Settings(ac_filter_hz=0.0),
    Settings(second=Wanted("loudness")),
    Settings(dialect="no such dialect"),
    Settings(dialect="/no/such/file.toml"),
    Settings(options={"no such option": "x"}),
    Settings(options={"identity": 3, "": True}),
)


def refuses_by_value_error_alone(specimen: Specimen) -> None:
    """A function that no meter has, numbers that are none, options that do not exist."""
    for settings in STRANGE:
        _ask_for(specimen, replace(settings, dialect=settings.dialect or specimen.settings.dialect))
    unknown = replace(specimen.settings, options={**specimen.settings.options, "no such option": "x"})
    assert _ask_for(specimen, unknown), "an option that does not exist is no error: misspelt ones stay unseen"


def _ask_for(specimen: Specimen, settings: Settings) -> bool:
    """Whether it was refused by ValueError."""
    try:
        _try(specimen, settings)
    except ValueError:
        return True
    except WireError:
        return False
    except AssertionError:
        raise
    except Exception as error:
        raise AssertionError(f"{settings}: {type(error).__name__}, {error}; raise ValueError") from error
    return False


def _try(specimen: Specimen, settings: Settings) -> None:
    driver = specimen.driver
    if isinstance(driver, ChecksSettings):
        driver.check(settings)
    if isinstance(driver, ChoosesLine):
        driver.line_for(settings)
    Stage(specimen, [usual(specimen, specimen.readings[0])]).connect(settings)
