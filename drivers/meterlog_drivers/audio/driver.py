"""A sound device as level meter, distortion meter and tone source.

Addresses: audio:NAME:in1 for a meter, audio:NAME:out1 for a source (`meterlog.bench.wires.address`).

A meter shows voltage (rms, wideband or one line), distortion (THD) or frequency; a second display another of
them. What each is stands in `meterlog_drivers.audio.levels`. A sample at full scale makes the reading an
overload. A gap in the samples ends the interval: no reading reaches across, and a remark says so.

Options of the bench file:
    full_scale        what a full-scale sine is at this input or output, such as "+24 dBu": gains, pads and
                      the device itself make it, so it is measured, and measured again after each change
    referenced        the day of that
    referenced_with   with which meter. Without these three there are no volts; distortion and frequency
                      need none
    average           seconds of samples for each reading (0.25); meters only
    frequency         hertz; only the line there is measured (the highest within 3 %: no tape runs true), and
                      it is the fundamental of the distortion; meters only
    identity          text that the device's name must contain; meters only
"""

from meterlog.reading import Line, Maturity, Meter, Nanoseconds, Settings, Source, Wire
from meterlog_drivers.audio.meter import connect_meter
from meterlog_drivers.audio.plan import plan_of
from meterlog_drivers.audio.source import connect_source


class Audio:
    """The driver; see `meterlog.reading.Driver`."""

    name = "audio"
    summary = "sound devices as level meter, distortion meter and tone source"
    maturity = Maturity.SIMULATED
    line = Line()

    def check(self, settings: Settings) -> None:
        """See `meterlog.reading.ChecksSettings`."""
        plan_of(settings)

    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        return connect_meter(wire, plan_of(settings), monotonic_ns)

    def connect_source(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Source:
        """See `meterlog.reading.DrivesSources`."""
        return connect_source(wire, settings, monotonic_ns)


driver = Audio()
