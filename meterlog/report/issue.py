"""Handing a report over: its number, and which one it replaces (ISO/IEC 17025:2017, 7.8.2.1 d and 7.8.8)."""

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from sqlalchemy import Engine

from meterlog.records import IssuedReport, issued_file, list_issued
from meterlog.report.errors import NotIssued, ReportError
from meterlog.report.model import Issue, Report
from meterlog.report.session import Session, local_time


def under_number(session: Session, kind: str, issue: Issue, known: Sequence[IssuedReport]) -> Issue:
    """With the next number of the session; report and sheet are two papers (`kind`), neither stands in for
    the other. ReportError: the session has not ended; the report would stand beside one that it does not
    replace, does not say why it replaces one, or that one is not there, of the other kind, or replaced."""
    session_id = session.header.id
    if session.header.ended is None:
        raise ReportError(f"session {session_id} has not ended; a report is issued of one that has")
    if bool(issue.replaces) != bool(issue.because):
        raise ReportError("a report that replaces another says which one (replaces) and why (because)")
    if issue.replaces:
        _check_replaced(issue.replaces, kind, known)
    _check_alone(session_id, kind, issue.replaces, known)
    of_session = sum(one.session_id == session_id for one in known)
    return replace(issue, number=f"{session_id}-{of_session + 1}")


def issued_before(session: Session) -> tuple[str, ...]:
    """What was handed over of this session so far, each in a phrase."""
    by = {one.replaces: one.number for one in session.issued if one.replaces}
    return tuple(
        f"{one.kind} {one.number} of {local_time(one.time_ns, session.zone):%Y-%m-%d}"
        + (f", replaced by {by[one.number]}" if one.number in by else "")
        for one in session.issued
        if one.session_id == session.header.id
    )


def issued_of(report: Report, session_id: int, kind: str, issue: Issue, made: bytes) -> IssuedReport:
    """What the record keeps of it."""
    assert issue.at is not None
    return IssuedReport(
        number=issue.number,
        session_id=session_id,
        time_ns=_ns(issue.at),
        kind=kind,
        customer=report.header.customer,
        replaces=issue.replaces,
        because=issue.because,
        results_digest=report.header.results_digest,
        file_digest=hashlib.sha256(made).hexdigest(),
    )


def issued_again(engine: Engine, session_id: int, number: str, form: str) -> bytes:
    """The file of a report of this session in one of its forms, byte for byte as it was issued.

    NotIssued: no such report, or the record does not keep it so.
    """
    of_session = {one.number: one for one in list_issued(engine) if one.session_id == session_id}
    if number not in of_session:
        there = ", ".join(of_session) or "none"
        raise NotIssued(f"no report {number!r} was issued of session {session_id}; those that were: {there}")
    made = issued_file(engine, number, form)
    if made is None:
        raise NotIssued(f"the record does not keep {number} as {form}: {_kept_as(of_session[number])}")
    return made


def _kept_as(issued: IssuedReport) -> str:
    if issued.forms:
        return f"it has {', '.join(issued.forms)}"
    return "it was issued by a version that kept no files; who got it has it"


def _check_replaced(number: str, kind: str, known: Sequence[IssuedReport]) -> None:
    replaced = next((one for one in known if one.number == number), None)
    if replaced is None:
        there = ", ".join(one.number for one in known) or "none"
        raise ReportError(f"no report {number!r} was issued; those that were: {there}")
    if replaced.kind != kind:
        raise ReportError(f"{number} is a {replaced.kind}, and only another {replaced.kind} stands in for it")
    for one in known:
        if one.replaces == number:
            raise ReportError(f"report {number} was replaced by {one.number} already; replace that one")


def _check_alone(session_id: int, kind: str, replaces: str, known: Sequence[IssuedReport]) -> None:
    """That no other of its kind stands beside it."""
    gone = {one.replaces for one in known} | {replaces}
    for one in known:
        if (one.session_id, one.kind) == (session_id, kind) and one.number not in gone:
            raise ReportError(
                f"{kind} {one.number} of this session was issued already; a changed one replaces it and says "
                f"why (replaces {one.number}, because TEXT), a copy gets no number"
            )


def _ns(moment: datetime) -> int:
    return round(moment.timestamp() * 1e6) * 1000
