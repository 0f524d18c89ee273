"""The rows of a session that begins, or goes on elsewhere. A text is kept once, under its digest."""

import hashlib
from dataclasses import asdict

from sqlalchemy import Connection, insert, select

from meterlog.records.schema import benches, documents, sessions
from meterlog.records.session import SessionStart


def insert_session(connection: Connection, start: SessionStart) -> int:
    """The number of the new session."""
    values = asdict(start)
    values["procedure_digest"] = _keep(connection, "procedure", values.pop("procedure_text"))
    values["bench_digest"] = _keep(connection, "bench", values.pop("bench_text"))
    return int(connection.execute(insert(sessions).values(values).returning(sessions.c.id)).scalar_one())


def insert_bench(connection: Connection, session_id: int, since_sequence: int, text: str) -> int:
    """The bench on which a session goes on; the number of the session."""
    digest = _keep(connection, "bench", text)
    row = {"session_id": session_id, "since_sequence": since_sequence, "bench_digest": digest}
    connection.execute(insert(benches).values(row))
    return session_id


def digest_of(text: str) -> str:
    """SHA-256 in hexadecimal digits."""
    return hashlib.sha256(text.encode()).hexdigest()


def _keep(connection: Connection, kind: str, text: str) -> str:
    digest = digest_of(text)
    known = select(documents.c.digest).where(documents.c.digest == digest)
    if connection.execute(known).first() is None:
        connection.execute(insert(documents).values(digest=digest, kind=kind, text=text))
    return digest
