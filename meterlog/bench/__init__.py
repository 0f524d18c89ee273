"""The bench: its file, the drivers it names, the wires to its meters, and the links that read them."""

from meterlog.bench.bench import OpenBench
from meterlog.bench.bench_file import Bench, check_drivers, load_bench, load_bench_text
from meterlog.bench.bench_model import Channel, MeterEntry, SourceEntry
from meterlog.bench.clock import Clock, SystemClock, slept_ns
from meterlog.bench.doubts import doubts_about
from meterlog.bench.drivers import installed_drivers, load_driver, load_source_driver
from meterlog.bench.errors import BenchError
from meterlog.bench.functions import FUNCTION_UNITS
from meterlog.bench.known_meters import conditions, in_use
from meterlog.bench.link import Link
from meterlog.bench.pace import Pace
from meterlog.bench.profile_file import load_profile_text
from meterlog.bench.source import DrivenSource, SourceError
from meterlog.bench.specification_file import load_specification_text
from meterlog.bench.status import LinkState, LinkStatus
from meterlog.bench.wires import open_wire

__all__ = [
    "FUNCTION_UNITS",
    "Bench",
    "BenchError",
    "Channel",
    "Clock",
    "DrivenSource",
    "Link",
    "LinkState",
    "LinkStatus",
    "MeterEntry",
    "OpenBench",
    "Pace",
    "SourceEntry",
    "SourceError",
    "SystemClock",
    "check_drivers",
    "conditions",
    "doubts_about",
    "in_use",
    "installed_drivers",
    "load_bench",
    "load_bench_text",
    "load_driver",
    "load_profile_text",
    "load_source_driver",
    "load_specification_text",
    "open_wire",
    "slept_ns",
]
