"""A sound device: a block of samples for each reading. Tones and the reference are made up."""

from math import pi, sin, sqrt
from struct import pack

from meterlog.quantity import Unit
from meterlog.reading import Coupling, Settings
from meterlog.reading.pcm import Block, Kind
from meterlog.testing import Row, Shown, Specimen
from meterlog_drivers.audio.driver import driver

RATE_HZ = 8000
COUNT = 400
"""0.05 s: whole periods of the tone, so that its rms is its peak by the square root of two."""
FULL_SCALE_V = 10 ** (24 / 20) * sqrt(0.6)
"""+24 dBu; 0 dBu is 1 mW in 600 ohm, sqrt(0.6) V."""
ABOUT = Block(Kind.TEXT, b"a sound device, channel 1", RATE_HZ).packed()

NOT_ASKED = {
    "bears noise inside a frame": "samples never leave this process: no byte is added to a block",
}


def level(peak: float) -> Row:
    samples = pack(f"={COUNT}f", *(peak * sin(2.0 * pi * n / 8) for n in range(COUNT)))
    shown = Shown(value=peak * FULL_SCALE_V, unit=Unit.VOLT, coupling=Coupling.AC, within=1e-6)
    return Row(f"peak {peak}", ABOUT + Block(Kind.SAMPLES, samples, RATE_HZ).packed(), [shown])


REFERENCE = {"full_scale": "+24 dBu", "referenced": "2026-05-01", "referenced_with": "bench meter"}
SPECIMENS = [
    Specimen(
        driver=driver,
        rows=[level(0.1), level(0.2), level(0.4)],
        settings=Settings(coupling=Coupling.AC, options={**REFERENCE, "average": 0.05}),
        period_s=0.05,
    )
]
