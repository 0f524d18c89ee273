"""The rows of a session that begins, or goes on elsewhere. A text is kept once, under its digest."""

import hashlib
from dataclasses import asdict

from sqlalchemy import Connection, delete, insert, select

from meterlog.records.schema import benches, commissions, documents, profiles, sessions, specifications
from meterlog.records.session import BenchUsed, Commission, SessionStart


def insert_session(connection: Connection, start: SessionStart) -> int:
    """The number of the new session."""
    values = asdict(start)
    commission = values.pop("commission")
    del values["specifications"], values["profiles"]
    values["procedure_digest"] = keep_document(connection, "procedure", values.pop("procedure_text"))
    values["bench_digest"] = keep_document(connection, "bench", values.pop("bench_text"))
    number = int(connection.execute(insert(sessions).values(values).returning(sessions.c.id)).scalar_one())
    _insert_known(connection, number, 0, start)
    if start.commission != Commission():
        connection.execute(insert(commissions).values(session_id=number, **commission))
    return number


def insert_bench(connection: Connection, session_id: int, bench: BenchUsed) -> int:
    """The bench on which a session goes on, in the place of one on which nothing has happened; the session's
    number."""
    for table in (specifications, profiles, benches):
        same = (table.c.session_id == session_id, table.c.since_sequence == bench.since_sequence)
        connection.execute(delete(table).where(*same))
    digest = keep_document(connection, "bench", bench.text)
    row = {"session_id": session_id, "since_sequence": bench.since_sequence, "bench_digest": digest}
    connection.execute(insert(benches).values(row))
    _insert_known(connection, session_id, bench.since_sequence, bench)
    return session_id


def _insert_known(
    connection: Connection, session_id: int, since_sequence: int, bench: SessionStart | BenchUsed
) -> None:
    """What is known of the meters of a bench."""
    key = {"session_id": session_id, "since_sequence": since_sequence}
    for meter, text in bench.specifications.items():
        digest = keep_document(connection, "specification", text)
        connection.execute(insert(specifications).values(**key, meter=meter, digest=digest))
    for channel, text in bench.profiles.items():
        digest = keep_document(connection, "profile", text)
        connection.execute(insert(profiles).values(**key, channel=channel, digest=digest))


def digest_of(text: str) -> str:
    """SHA-256 in hexadecimal digits."""
    return hashlib.sha256(text.encode()).hexdigest()


def keep_document(connection: Connection, kind: str, text: str) -> str:
    """Its digest."""
    digest = digest_of(text)
    known = select(documents.c.digest).where(documents.c.digest == digest)
    if connection.execute(known).first() is None:
        connection.execute(insert(documents).values(digest=digest, kind=kind, text=text))
    return digest
