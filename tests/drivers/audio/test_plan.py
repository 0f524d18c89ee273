"""What a bench file may ask of a sound device. +24 dBu = 12.28 V: 0.7746 V times 10^(24/20). Made up."""

from typing import Any

import pytest

from meterlog.reading import ChecksSettings, Coupling, DrivesSources, Settings, Wanted
from meterlog_drivers.audio import driver as module
from meterlog_drivers.audio.driver import driver
from meterlog_drivers.audio.plan import METER_OPTIONS, plan_of

REFERENCE = {"full_scale": "+24 dBu", "referenced": "2026-05-01", "referenced_with": "bench meter"}


def test_a_level_with_its_reference() -> None:
    plan = plan_of(Settings(coupling=Coupling.AC, options={**REFERENCE, "average": 0.5}))
    assert plan.reference is not None
    assert plan.reference.full_scale_v == pytest.approx(12.28, rel=1e-3)
    assert plan.reference.text == "0 dBFS is +24 dBu, referenced 2026-05-01 with bench meter"
    assert (plan.functions, plan.average_s) == (("voltage",), 0.5)


def test_distortion_and_frequency_need_no_reference() -> None:
    plan = plan_of(Settings("distortion", second=Wanted("frequency")))
    assert (plan.functions, plan.reference) == (("distortion", "frequency"), None)


@pytest.mark.parametrize("missing", sorted(REFERENCE))
def test_no_volts_without_the_whole_reference(missing: str) -> None:
    options = {key: value for key, value in REFERENCE.items() if key != missing}
    with pytest.raises(ValueError, match=r"no volts without a reference: write the options .*" + missing):
        plan_of(Settings(coupling=Coupling.AC, options=options))
    with pytest.raises(ValueError, match=r"no volts without a reference"):
        plan_of(Settings("distortion", second=Wanted("voltage", Coupling.AC)))


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"coupling": Coupling.DC}, "passes no DC: write coupling ac"),
        ({"displays": (2,)}, "wants display 2 of this meter and none its main one"),
        ({"second": Wanted("frequency"), "displays": (1, 3)}, "wants display 3; this driver reads"),
        ({"function": "resistance"}, "shows no resistance; it shows voltage, distortion, frequency"),
        ({"range_max": 1.0}, "remove range and ac_filter"),
        ({"options": {**REFERENCE, "gain": 3}}, "no option gain"),
        ({"options": {**REFERENCE, "full_scale": "24 apples"}}, "the option full_scale: "),
        ({"options": {**REFERENCE, "full_scale": "20 Hz"}}, "write a level such as"),
        ({"options": {**REFERENCE, "referenced": "May"}}, "write a day such as"),
        ({"options": {**REFERENCE, "average": 60}}, "write a number from 0.05 to 10"),
        ({"options": {**REFERENCE, "average": "long"}}, "write a number from 0.05 to 10"),
        ({"options": {**REFERENCE, "frequency": 20}}, "write an average of 0.3 s or more"),
    ],
)
def test_what_cannot_be_is_refused_in_words(changes: dict[str, Any], says: str) -> None:
    settings = Settings(**{"coupling": Coupling.AC, "options": REFERENCE, **changes})
    with pytest.raises(ValueError, match=says):
        driver.check(settings)


def test_the_driver_s_abilities_and_the_head_of_its_module() -> None:
    assert isinstance(driver, ChecksSettings)
    assert isinstance(driver, DrivesSources)
    assert module.__doc__ is not None
    assert all(f"    {option} " in module.__doc__ for option in METER_OPTIONS)
