"""Budgets against published worked examples, to the printed digits; sources in tests/reference/gum."""

import csv
import math
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.accuracy.budget import Budget, Source, Sources
from meterlog.accuracy.coverage import coverage_factor, factor_of_sum
from meterlog.accuracy.spread import Shape

FOLDER = Path(__file__).parents[1] / "reference" / "gum"


def rounds_to(printed: float, places: int = 0) -> Any:
    """Equal to what rounds to `printed`."""
    return pytest.approx(float(printed), rel=0.0, abs=0.5 * 10.0**-places * (1.0 + 1e-9))


def example(name: str) -> dict[str, Any]:
    return tomllib.loads((FOLDER / name).read_text(encoding="utf-8"))


class TestEndGauge:
    """JCGM 100:2008, Annex H.1: a length with terms that are products of two uncertain numbers."""

    given_ = example("h1_end_gauge.toml")

    def budget(self) -> Budget:
        inputs = self.given_["inputs"]
        sources = Sources()

        def number(name: str) -> Any:
            one = inputs[name]
            return sources.number(
                one.get("value", 0.0),
                Source(name, one["u"], degrees_of_freedom=one.get("df", math.inf)),
            )

        d = number("d0") + number("d1") + number("d2")
        theta = number("theta_bar_k") + number("theta_cycle_k")
        alpha = sources.number(11.5e-6, Source.within("alpha_s", 2e-6))
        d_alpha = sources.number(
            0.0, Source("d_alpha", 1e-6 / math.sqrt(3), Shape.RECTANGULAR, inputs["d_alpha_per_k"]["df"])
        )
        d_theta = sources.number(
            0.0, Source("d_theta", 0.05 / math.sqrt(3), Shape.RECTANGULAR, inputs["d_theta_k"]["df"])
        )
        ls = number("ls")
        return sources.budget(ls + d - ls * (d_alpha * theta + alpha * d_theta))

    def test_length(self) -> None:
        assert self.budget().value == rounds_to(self.given_["printed"]["l_nm"])

    def test_combined_standard_uncertainty(self) -> None:
        assert self.budget().standard_uncertainty == rounds_to(self.given_["printed"]["uc_nm"])

    def test_contributions(self) -> None:
        printed = self.given_["printed"]["contributions_nm"]
        found = {line.source.name: line.contribution for line in self.budget().lines}
        assert found["ls"] == rounds_to(printed["ls"])
        assert found["d_alpha"] == rounds_to(printed["d_alpha"], 1)
        assert found["d_theta"] == rounds_to(printed["d_theta"], 1)
        assert math.hypot(found["d0"], found["d1"], found["d2"]) == rounds_to(
            self.given_["printed"]["u_d"], 1
        )

    def test_effective_degrees_of_freedom(self) -> None:
        """16.76 by our figures, printed as 16.7 and cut down to 16."""
        found = self.budget().degrees_of_freedom
        assert found == pytest.approx(self.given_["recomputed"]["df_eff"], abs=0.05)
        assert math.floor(found) == self.given_["printed"]["df_eff_used"]


class TestThermometer:
    """JCGM 100:2008, Annex H.3: a straight line, whose two coefficients come from the same observations."""

    given_ = example("h3_thermometer.toml")

    def line(self) -> tuple[Sources, Any, Any]:
        """Intercept at 20 degrees and slope: weighted sums of the observations (least squares)."""
        lines = (FOLDER / "h3_thermometer.csv").read_text(encoding="utf-8").splitlines()
        rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
        xs = [float(row["reading_c"]) - self.given_["given"]["t0_c"] for row in rows]
        ys = [float(row["observed_correction_c"]) for row in rows]
        mean = math.fsum(xs) / len(xs)
        spread = math.fsum((x - mean) ** 2 for x in xs)
        sources = Sources()
        deviation = self.given_["recomputed"]["residual_sd_c"]
        observed = [sources.number(y, Source(f"b{k}", deviation)) for k, y in enumerate(ys)]
        slope = sum((x - mean) / spread * y for x, y in zip(xs, observed, strict=True))
        return sources, sum(observed) * (1.0 / len(xs)) - slope * mean, slope

    def test_coefficients(self) -> None:
        sources, intercept, slope = self.line()
        printed = self.given_["printed"]
        found = sources.budget(intercept), sources.budget(slope)
        assert found[0].value == rounds_to(printed["y1_c"], 4)
        assert found[0].standard_uncertainty == rounds_to(printed["y1_sd_c"], 4)
        assert found[1].value == rounds_to(printed["y2"], 5)
        assert found[1].standard_uncertainty == rounds_to(printed["y2_sd"], 5)

    def test_a_correction_from_both_needs_no_word_of_their_correlation(self) -> None:
        """0.0041; taken as independent the two would give 0.0073."""
        sources, intercept, slope = self.line()
        found = sources.budget(intercept + slope * 10.0)
        printed = self.given_["printed"]
        assert found.value == rounds_to(printed["correction_at_30_c"], 4)
        assert found.standard_uncertainty == rounds_to(printed["u_correction_at_30_c"], 4)


class TestMultimeter:
    """EA-4/02 M:2013, S9: a hand-held meter at 100 V, whose own resolution outweighs all else."""

    given_ = example("ea402_s9_multimeter.toml")

    def budget(self) -> Budget:
        inputs = self.given_["inputs"]
        sources = Sources()
        shown = inputs["v_ix"]["value"] + sources.number(
            0.0, Source.within("resolution", inputs["dv_ix"]["half_width"])
        )
        reference = sources.number(inputs["v_s"]["value"], Source("calibrator", inputs["v_s"]["u"]))
        stated = sources.number(0.0, Source.within("specification", inputs["dv_s"]["half_width"]))
        return sources.budget(shown - reference - stated)

    def test_error_and_uncertainty(self) -> None:
        found, printed = self.budget(), self.given_["printed"]
        assert found.value == pytest.approx(printed["error_v"])
        assert found.standard_uncertainty == rounds_to(printed["uc_v"], 3)
        assert found.expanded_uncertainty == rounds_to(printed["u_v"], 2)

    def test_its_coverage_factor_is_that_of_the_resolution_alone(self) -> None:
        """S9 takes the result for a rectangle, which gives its k = 1.65. Of the three sources together that
        covers 93.2 % (the corners of a trapezoid, by hand): 95 % take 1.71, and our 95.45 % 1.73."""
        lines, printed = self.budget().lines, self.given_["printed"]
        shares = [line.spread for line in lines]
        probability = printed["probability"]
        assert factor_of_sum(shares[:1], math.inf, probability) == rounds_to(printed["k"], 2)
        assert round(factor_of_sum(shares, math.inf, probability), 2) == 1.71
        assert round(self.budget().coverage_factor, 2) == 1.73
        outside = (0.05 + 0.011 - printed["k"] * self.budget().standard_uncertainty) ** 2 / (4 * 0.05 * 0.011)
        assert round(1.0 - outside, 3) == 0.932

    def test_the_lines_come_largest_first(self) -> None:
        found = self.budget()
        assert [line.source.name for line in found.lines] == ["resolution", "specification", "calibrator"]
        assert [round(line.contribution, 4) for line in found.lines] == [0.0289, 0.0064, 0.001]
        assert [line.source.shape for line in found.lines] == [
            Shape.RECTANGULAR,
            Shape.RECTANGULAR,
            Shape.NORMAL,
        ]


class TestWeight:
    """EA-4/02 M:2013, S2: 10 kg by substitution, one source with two degrees of freedom."""

    given_ = example("ea402_s2_weight.toml")

    def budget(self) -> Budget:
        sources = Sources()
        total: Any = 0.0
        for name, one in self.given_["budget_g"].items():
            source = Source(name, one["u"], Shape(one["shape"]), one.get("df", math.inf))
            total = total + sources.number(0.0, source)
        return sources.budget(total)

    def test_combined_standard_uncertainty(self) -> None:
        found = self.budget()
        assert found.standard_uncertainty == rounds_to(self.given_["printed"]["uc_g"], 4)
        assert found.degrees_of_freedom == pytest.approx(
            self.given_["recomputed"]["df_eff_if_comparison_has_2"], abs=0.1
        )

    def test_where_we_differ_from_the_printed_statement(self) -> None:
        """Printed is k = 2 for U = 59 mg. 34 degrees of freedom make that 2.07; the three rectangles
        among its sources change nothing that is printed."""
        found = self.budget()
        assert coverage_factor(found.degrees_of_freedom) == pytest.approx(
            self.given_["recomputed"]["k_from_df"], abs=0.006
        )
        assert found.coverage_factor == pytest.approx(self.given_["recomputed"]["k_from_df"], abs=0.005)
        assert 2.0 * found.standard_uncertainty == rounds_to(self.given_["printed"]["u_g"], 3)


@given(st.floats(0.1, 10.0), st.floats(0.5, 1.0), st.floats(1e-6, 0.05))
def test_a_shared_error_of_gain_falls_out_of_a_ratio(level: float, drop: float, gain: float) -> None:
    """A fall of a level with one meter on one range: as sure as the readings, however poor the gain is."""
    sources = Sources()
    error = sources.number(0.0, Source.within("gain", gain))
    before = sources.number(level, Source("scatter before", 1e-5 * level)) * (1.0 + error)
    after = sources.number(level * drop, Source("scatter after", 1e-5 * level)) * (1.0 + error)
    found = sources.budget(after / before)
    assert found.standard_uncertainty == pytest.approx(1e-5 * math.hypot(1.0, drop), rel=1e-6)


@given(st.floats(0.1, 10.0), st.floats(1e-6, 0.05))
def test_two_meters_errors_of_gain_do_not(level: float, gain: float) -> None:
    sources = Sources()
    before = level * (1.0 + sources.number(0.0, Source("gain of one", gain)))
    after = level * (1.0 + sources.number(0.0, Source("gain of the other", gain)))
    found = sources.budget(after / before)
    assert found.standard_uncertainty == pytest.approx(gain * math.sqrt(2.0), rel=1e-6)


def test_of_nothing_uncertain_nothing_is_said() -> None:
    sources = Sources()
    found = sources.budget(sources.number(1.0, Source("exact", 0.0)))
    assert (found.lines, found.standard_uncertainty, found.expanded_uncertainty) == ((), 0.0, 0.0)
