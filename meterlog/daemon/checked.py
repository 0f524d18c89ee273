"""What the checks on record say of the meters that a procedure uses, before a session begins."""

from datetime import UTC, datetime

from sqlalchemy import Engine

from meterlog.bench import Bench
from meterlog.checking.history import histories
from meterlog.checking.notices import notices
from meterlog.procedure import Procedure
from meterlog.records import list_meter_checks


class MeterNotices:
    """As they stand now: which meters of the bench were outside at their last check, or are overdue."""

    def __init__(self, database: Engine, bench: Bench) -> None:
        own, today = histories(list_meter_checks(database)), datetime.now(UTC).date()
        self._channels = bench.channels
        self._lines = {meter.name: notices(own, [meter], today) for meter in bench.meters}

    def of(self, procedure: Procedure) -> list[str]:
        """Of the meters that its channels are on."""
        wanted = {channel.name for channel in procedure.channels}
        used = dict.fromkeys(channel.meter for channel in self._channels if channel.name in wanted)
        return [line for meter in used for line in self._lines[meter]]
