"""What ties a report to its record: SHA-256 over the outcomes of a session as they are stored."""

import hashlib
import json
from collections.abc import Iterator
from dataclasses import asdict

from meterlog.records.session import SessionRecord


def results_digest(record: SessionRecord) -> str:
    """Hexadecimal. One line of JSON for what it was done on, one for each outcome with its place in the
    order of events; floats with every bit. A replay that gives the same outcomes gives the same digest.
    """
    digest = hashlib.sha256()
    for line in _lines(record):
        digest.update(f"{line}\n".encode())
    return digest.hexdigest()


def _lines(record: SessionRecord) -> Iterator[str]:
    header = record.header
    yield json.dumps(
        [header.id, header.unit_model, header.unit_serial, header.began_time_ns, header.procedure_digest]
    )
    for kept in record.outcomes:
        kind = type(kept.outcome).__name__
        yield json.dumps([kept.sequence, kept.position, kind, asdict(kept.outcome)], sort_keys=True)
