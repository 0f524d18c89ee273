"""What the bench meter measures with on each of its functions: ranges, counts, noise, filters and pace.

The errors of gain are those of the classes that the bench file names: config/meters.
"""

from dataclasses import replace

from meterlog.simulate.meter import MeterPlan

AC, DC, FREQUENCY = "VOLT:AC", "VOLT", "FREQ"
BANDS_HZ = (3.0, 20.0, 200.0)
FILTER_S = {3.0: 2.5 / 7, 20.0: 0.625 / 7, 200.0: 0.025 / 7}
"""Settling delays of that family (2.5, 0.625, 0.025 s), taken as the seven time constants to 0.1 %."""
MEASURING_S = {3.0: 0.5, 20.0: 0.12, 200.0: 0.03}
AC_PLAN = MeterPlan(
    ranges_volts=(0.1, 1.0, 10.0, 100.0, 750.0),
    counts=1_000_000,
    overrange=1.2,
    filter_s=FILTER_S[20.0],
    noise_counts=8.0,
    noise_of_value=2e-5,
    gain_within=8e-4,
)
DC_PLAN = replace(AC_PLAN, gain_within=4e-5)
FREQUENCY_PLAN = MeterPlan(
    ranges_volts=(100.0, 1_000.0, 10_000.0, 100_000.0, 1_000_000.0, 10_000_000.0),
    counts=1_000_000,
    filter_s=0.02,
    noise_counts=2.0,
    noise_of_value=2e-6,
    gain_within=1e-5,
)
"""Hertz; a counter that measures periods, so that six digits need no long gate. Invented."""
PLANS = {AC: AC_PLAN, DC: DC_PLAN, FREQUENCY: FREQUENCY_PLAN}
