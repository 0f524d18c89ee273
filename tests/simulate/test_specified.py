"""The simulated meters and the classes that their bench files name: each is within what it claims, and good
enough for every step of its procedure, so that no session has to ask why it is begun all the same."""

import pytest

from meterlog.accuracy import Conditions
from meterlog.accuracy.fitness import Fit
from meterlog.procedure import load_procedure
from meterlog.procedure.fitting import StepFit, fits_of
from meterlog.simulate import meters
from meterlog.simulate.scenario import Scenario
from meterlog.simulate.scenarios import SCENARIOS
from tests.simulate.virtual_bench import PROCEDURES, in_use

POINTS = [(scenario, name) for scenario in SCENARIOS.values() for name in scenario.points]
every_point = pytest.mark.parametrize(
    ("scenario", "name"), POINTS, ids=[f"{scenario.name} {name}" for scenario, name in POINTS]
)


def fits(name: str) -> list[StepFit]:
    return fits_of(load_procedure(PROCEDURES / f"{name}.toml"), in_use(SCENARIOS[name]), {})


@pytest.mark.parametrize("name", SCENARIOS)
def test_no_step_has_a_meter_that_is_not_adequate(name: str) -> None:
    found = fits(name)
    assert found
    assert [
        (one.step, one.part, one.fitness.why) for one in found if one.fitness.fit is Fit.NOT_ADEQUATE
    ] == []


def test_the_demonstration_shows_steps_that_are_adequate_and_marginal() -> None:
    assert {one.fitness.fit for one in fits("tape-machine")} >= {Fit.ADEQUATE, Fit.MARGINAL}


@every_point
def test_its_ranges_are_those_of_its_class(scenario: Scenario, name: str) -> None:
    plan, capability = meters.plan_of(scenario.points[name]), in_use(scenario)[name].capability
    assert capability is not None
    described = {one.full_scale: one for one in capability.ranges}
    for full in plan.ranges_volts[:-1]:  # the last one ends where the terminals do
        assert described[full].count == pytest.approx(full / plan.counts)
        assert described[full].highest >= full * plan.overrange - 2 * described[full].count


@every_point
def test_its_error_of_gain_is_within_what_its_class_states(scenario: Scenario, name: str) -> None:
    """In a year from calibration, at the frequencies of its band where it states least."""
    meter = in_use(scenario)[name]
    assert meter.capability is not None
    yearly = [
        row.reading for row in meter.capability.accuracies if row.holds(1.0, Conditions(None, None, 365.0))
    ]
    assert 0.0 < meters.plan_of(scenario.points[name]).gain_within <= min(yearly) * (1 + 1e-9)


@every_point
def test_the_bench_file_names_the_class(scenario: Scenario, name: str) -> None:
    entry = meters.entry_of(scenario, name, "an address")
    assert entry.meter["specification"] == meters.specification_of(scenario.points[name])


def test_a_meter_that_nobody_holds_in_a_range_chooses_by_itself() -> None:
    phono = SCENARIOS["phono-equaliser"]
    held, free = (meters.entry_of(phono, name, "an address") for name in ("input", "output"))
    assert (held.channel["range"], held.options) == ("0.1 V", pytest.approx({"resolution": 1e-7}))
    assert "range" not in free.channel
    assert free.options == {}


@pytest.mark.parametrize("scenario", SCENARIOS.values(), ids=list(SCENARIOS))
def test_nobody_could_take_one_meter_for_another(scenario: Scenario) -> None:
    """`meterlog bench check` warns of two with one serial number."""
    numbers = [meters.entry_of(scenario, name, "").meter["serial_number"] for name in scenario.points]
    assert len(set(numbers)) == len(numbers)
