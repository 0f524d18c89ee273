"""Finding instruments: which ports there are, who is at them, what is wrong, and the bench file's entry.

ports, unplugging                                     which port is which            pure
candidates, trouble, advice, replayed, raw, entry     what fits, what to do          pure
listing, listening, finding, together, held, holder   the system and the wires       the edge
bench_writing                                         into the file                  the edge
watching, frames                                      bytes and readings live        the edge
"""

from meterlog.bench.find.advice import taken_advice
from meterlog.bench.find.bench_writing import add_entry, names_in
from meterlog.bench.find.candidates import Match, recognising
from meterlog.bench.find.entry import Entry, Taken, Wish, entry_for, entry_text
from meterlog.bench.find.finding import Finder, Finding, longest_s
from meterlog.bench.find.frames import next_frame
from meterlog.bench.find.held import Held, held_by, held_finding, holding
from meterlog.bench.find.listing import serial_ports, visa_names
from meterlog.bench.find.ports import NamedPort, Port, find_port, name_ports
from meterlog.bench.find.raw import dump, dump_line
from meterlog.bench.find.replayed import differing
from meterlog.bench.find.together import find_all
from meterlog.bench.find.trouble import Trouble
from meterlog.bench.find.unplugging import Stage, Unplugging, look
from meterlog.bench.find.watching import indicated, line_from, watch_bytes, watch_driver

__all__ = [
    "Entry",
    "Finder",
    "Finding",
    "Held",
    "Match",
    "NamedPort",
    "Port",
    "Stage",
    "Taken",
    "Trouble",
    "Unplugging",
    "Wish",
    "add_entry",
    "differing",
    "dump",
    "dump_line",
    "entry_for",
    "entry_text",
    "find_all",
    "find_port",
    "held_by",
    "held_finding",
    "holding",
    "indicated",
    "line_from",
    "longest_s",
    "look",
    "name_ports",
    "names_in",
    "next_frame",
    "recognising",
    "serial_ports",
    "taken_advice",
    "visa_names",
    "watch_bytes",
    "watch_driver",
]
