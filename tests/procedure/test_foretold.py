"""What `procedure fit` foretells of a step is what its session comes to where no reading scatters.

The display is so fine that its count is nothing: under a coarse one a level that has just come to stand still
may creep, which a session counts for more than the one count that the fit takes (docs/uncertainty.md).
"""

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from meterlog.accuracy import Accuracy, Band, Capability, InUse, Range, Response, Specification
from meterlog.procedure import SettledValue, StepFit, fits_of, load_procedure_text
from meterlog.reading import Coupling
from tests.procedure.bench import HEAD, Bench

COUNT, DIGIT = 1e-8, 1e-4
LEVEL = """
[[step]]
id = "level"
title = "Level"
pattern = "measure"
channel = "output"
frequency = "{at}"
distortion = "{distortion}"
target = "{level:.4f} V"
tolerance = "5 %"
dwell = "0.8 s"
"""
LOUDER = """
[[step]]
id = "louder"
title = "Louder"
pattern = "measure"
channel = "{channel}"
frequency = "{also_at}"
reference = "level"
target = "{louder} dB"
tolerance = "0.5 dB"
dwell = "0.8 s"
"""
ROWS = """
[[step]]
id = "louder"
title = "Response"
pattern = "table"
channel = "output"
reference = "level"
tolerance = "0.5 dB"
dwell = "0.8 s"
[[step.row]]
at = "{also_at}"
expected = "{louder} dB"
"""
FREQUENCIES = st.sampled_from(["100 Hz", "1 kHz", "1.5 kHz", "10 kHz"])


def meters(share: float, counts: float, response: Response) -> dict[str, InUse]:
    """Invented: one meter for `output`, another of its kind for `panel`; two rows of its maker's table."""
    volts = Capability(
        "voltage",
        Coupling.AC,
        (Range(2.0, COUNT, 2.0), Range(20.0, 10.0 * COUNT, 20.0)),
        (Band(40.0, 20e3),),
        input_ohm=1e6,
        response=response,
        accuracies=(
            Accuracy(reading=share, of_range=counts * DIGIT / 2.0, band=Band(40.0, 2e3)),
            Accuracy(reading=3.0 * share, of_range=counts * DIGIT / 2.0, band=Band(2e3, 20e3)),
        ),
    )
    kind = Specification("20000 counts", 0.2, (volts,))
    return {name: InUse(f"of {name}", kind, "voltage", Coupling.AC) for name in ("output", "panel")}


def session(steps: str, used: dict[str, InUse], levels: list[dict[str, float]]) -> list[SettledValue]:
    """Each step at its level, of readings that stand still; a row of a table waits for the pedal."""
    bench = Bench(steps, meters=used, noise=0.0)
    bench.fields = {"resolution": COUNT, "range_max": 2.0}
    for number, level in enumerate(levels, 1):
        if "set the source" in bench.engine.view().guide.do_now.lower():
            bench.press()
        bench.run_to(number, **level)
    return bench.settled


def foretold(steps: str, used: dict[str, InUse]) -> list[StepFit]:
    return fits_of(load_procedure_text(HEAD + steps, "p.toml"), used, {})


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    share=st.floats(1e-4, 0.02),
    counts=st.floats(1.0, 10.0),
    response=st.sampled_from(Response),
    said=st.fixed_dictionaries(
        {
            "level": st.floats(0.5, 1.0),
            "louder": st.sampled_from(["-1", "3"]),
            "at": FREQUENCIES,
            "also_at": FREQUENCIES,
            "distortion": st.sampled_from(["0.1 %", "3 %"]),
            "channel": st.sampled_from(["output", "panel"]),
        }
    ),
    second=st.sampled_from([LOUDER, ROWS]),
)
def test_as_sure_as_foretold(
    share: float, counts: float, response: Response, said: dict[str, Any], second: str
) -> None:
    """A level, and one about it on the same meter or another, at the same frequency or another. The session
    has a thousand degrees of freedom where the fit takes no end of them: 0.2 % at most."""
    used, steps = meters(share, counts, response), (LEVEL + second).format(**said)
    one = float(f"{said['level']:.4f}")
    channel = said["channel"] if second is LOUDER else "output"
    other = one * 10 ** (float(said["louder"]) / 20)
    values = session(steps, used, [{"output": one}, {channel: other}])
    expected = [row.fitness.uncertainty for row in foretold(steps, used)]
    assert [value.expanded_uncertainty for value in values] == pytest.approx(expected, rel=2e-3)
