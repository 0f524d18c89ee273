"""Errors as the person at the terminal gets them: on stderr, after "meterlog:", with a number for scripts.

1  the answer is no: replay differs, an action was not accepted
2  something given is wrong: the command line, a file, a request
3  no daemon answers, or it cannot start
4  the record cannot be used
"""

import sys

from meterlog.daemon.errors import DaemonError, Refusal
from meterlog.errors import MeterlogError
from meterlog.records import RecordsError

NO, BAD_INPUT, DAEMON, RECORDS = 1, 2, 3, 4
_CODES: tuple[tuple[type[MeterlogError], int], ...] = (
    (Refusal, BAD_INPUT),
    (DaemonError, DAEMON),
    (RecordsError, RECORDS),
)


def complain(error: MeterlogError) -> int:
    """Print it; the exit code that belongs to it."""
    say(str(error))
    return next((code for kind, code in _CODES if isinstance(error, kind)), BAD_INPUT)


def say(text: str) -> None:
    print(f"meterlog: {text}", file=sys.stderr)
