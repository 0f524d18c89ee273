"""A sound device's input as a meter: one reading for each interval of samples."""

from collections.abc import Sequence

from meterlog.quantity import Unit
from meterlog.reading import Coupling, Indication, Nanoseconds, State, Wire, WrongMeter
from meterlog_drivers.audio.device import Device
from meterlog_drivers.audio.intervals import Intervals
from meterlog_drivers.audio.levels import (
    FULL_SCALE_RMS,
    Samples,
    clipped,
    dbfs,
    distortion,
    line_rms,
    strongest_hz,
    wideband_rms,
)
from meterlog_drivers.audio.plan import Plan

UNITS = {"voltage": Unit.VOLT, "distortion": Unit.PERCENT, "frequency": Unit.HERTZ}


class AudioMeter:
    """See `meterlog.reading.Meter` and `meterlog.reading.Remarks`."""

    def __init__(self, device: Device, plan: Plan) -> None:
        self.identity = device.identity
        self.period_s = plan.average_s
        self._device, self._plan = device, plan
        self._rate_hz = device.rate_hz
        self._intervals = Intervals(round(plan.average_s * device.rate_hz))
        self._said = [plan.reference.text] if plan.reference else []

    def poll(self, wait_s: float) -> Sequence[Indication]:
        came = self._device.listen(wait_s)
        at_ns = self._device.monotonic_ns()
        return [
            self._indication(display, function, interval, began_ns)
            for block in came
            for began_ns, interval in self._intervals.add(block, at_ns)
            for display, function in enumerate(self._plan.functions, 1)
        ]

    def resynchronise(self) -> None:
        self._device.forget()
        self._intervals.begin_anew()

    def close(self) -> None:
        """Nothing to give back."""

    def remarks(self) -> Sequence[str]:
        said, self._said = [*self._said, *self._intervals.remarks()], []
        return said

    def _indication(self, display: int, function: str, interval: Samples, began_ns: int) -> Indication:
        over = clipped(interval)
        value = None if over else self._value(function, interval)
        missing = State.OVERLOAD if over else State.BLANK
        level = dbfs(wideband_rms(interval))
        reference = self._plan.reference
        return Indication(
            monotonic_ns=began_ns,
            value=value,
            unit=UNITS[function],
            state=missing if value is None else State.OK,
            coupling=Coupling.AC if function == "voltage" else Coupling.NONE,
            range_max=reference.full_scale_v if reference and function == "voltage" else None,
            function=function,
            raw=f"{level:.3f} dBFS at {self._rate_hz} Hz".encode("ascii"),
            display=display,
        )

    def _value(self, function: str, interval: Samples) -> float | None:
        if function == "voltage":
            return self._volts(interval)
        if function == "frequency":
            return strongest_hz(interval, self._rate_hz)
        tone_hz = self._tone_hz(interval)
        found = distortion(interval, tone_hz, self._rate_hz) if tone_hz else None
        return 100.0 * found.share if found else None

    def _tone_hz(self, interval: Samples) -> float | None:
        """Where it really is: a tenth of a bin beside the fundamental is a whole one beside harmonic 10."""
        return strongest_hz(interval, self._rate_hz, self._plan.frequency_hz)

    def _volts(self, interval: Samples) -> float:
        plan = self._plan
        assert plan.reference is not None  # the plan insists on it
        if plan.frequency_hz is None:
            rms = wideband_rms(interval)
        else:
            rms = line_rms(interval, self._tone_hz(interval) or plan.frequency_hz, self._rate_hz)
        return rms / FULL_SCALE_RMS * plan.reference.full_scale_v


def connect_meter(wire: Wire, plan: Plan, clock: Nanoseconds) -> AudioMeter:
    """See `meterlog.reading.Driver.connect`."""
    device = Device(wire, clock)
    name = device.identity.text
    if plan.identity not in name:
        raise WrongMeter(f'"{name}" answers; the bench file wants "{plan.identity}" in it')
    if plan.frequency_hz is not None and plan.frequency_hz > device.band_hz:
        raise ValueError(f"{plan.frequency_hz:g} Hz is beyond the band of {device.rate_hz} Hz sampling")
    return AudioMeter(device, plan)
