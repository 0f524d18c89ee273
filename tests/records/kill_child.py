"""Records for ever and prints the number of each settled value once it may be announced. To be killed."""

import sys
from itertools import count
from pathlib import Path

from meterlog.records import DataFolder, Writer
from tests.records import samples

folder = DataFolder(Path(sys.argv[1]))
with folder.hold():
    writer = Writer(folder.open_checked())
    session = writer.begin_session(samples.START)
    print(session, flush=True)
    for number in count(1):
        for reading in range(5 * number - 4, 5 * number + 1):
            writer.event(session, reading, samples.measured(reading, 1 / reading))
        writer.commit(session, 5 * number, [samples.settled(number, 1 / number)])
        print(number, flush=True)
