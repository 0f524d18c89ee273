"""What the bench shows now: the newest reading of each channel and how each link does."""

from meterlog.bench import Bench, LinkStatus
from meterlog.daemon.as_json import plain
from meterlog.daemon.messages import Corrected, Json, channel_json
from meterlog.daemon.scales import Scales
from meterlog.quantity import Unit
from meterlog.reading import Identity, Reading


class Board:
    """Used by the runner's thread alone."""

    def __init__(self, bench: Bench) -> None:
        self._meters = {channel.name: channel.meter for channel in bench.channels}
        self._readings: dict[str, Reading] = {}
        self.links: dict[str, LinkStatus] = {}

    def read(self, reading: Reading) -> None:
        self._readings[reading.channel] = reading

    def link(self, status: LinkStatus) -> bool:
        """Take a status; True if another instrument, or one for the first time, has said who it is."""
        before = self.links.get(status.meter)
        self.links[status.meter] = status
        return _who(status) is not None and (before is None or _who(before) != _who(status))

    def unit(self, channel: str) -> Unit | None:
        """The unit the channel shows, None before its first reading."""
        reading = self._readings.get(channel)
        return reading.unit if reading else None

    def resolution(self, channel: str) -> float:
        """One count of the channel's meter in the base unit, 0.0 where unknown."""
        reading = self._readings.get(channel)
        return reading.resolution if reading else 0.0

    def channels(self, scales: Scales, now_ns: int, corrected: Corrected | None = None) -> list[Json]:
        """Every channel of the bench file, in its order. `now_ns` is monotonic; `corrected` gives the level
        that a session goes by."""
        return [
            channel_json(name, self._readings.get(name), scales, now_ns, corrected) | self._link_of(meter)
            for name, meter in self._meters.items()
        ]

    def link_list(self) -> list[Json]:
        return [plain(status) for status in self.links.values()]

    def _link_of(self, meter: str) -> Json:
        status = self.links.get(meter)
        if status is None:
            return {"meter": meter, "link": "connecting", "link_text": "", "remark": "", "remarks": 0}
        return {
            "meter": meter,
            "link": status.state,
            "link_text": status.text,
            "remark": status.remark,
            "remarks": status.remarks,
        }


def _who(status: LinkStatus) -> Identity | None:
    """Who answers, read or refused."""
    return status.refused or status.identity
