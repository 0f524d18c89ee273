"""Handing a report over: its number, and which one it replaces (ISO/IEC 17025:2017, 7.8.2.1 d and 7.8.8)."""

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from meterlog.records import IssuedReport
from meterlog.report.errors import ReportError
from meterlog.report.model import Issue, Report
from meterlog.report.session import Session, local_time


def under_number(session: Session, kind: str, issue: Issue, known: Sequence[IssuedReport]) -> Issue:
    """With the next number of the session; report and sheet are two papers (`kind`), neither stands in for
    the other. ReportError: the session has not ended; the report would stand
    beside one that it does not replace, replace one that is not there or is replaced already, or does not
    say why."""
    session_id = session.header.id
    if session.header.ended is None:
        raise ReportError(f"session {session_id} has not ended; a report is issued of one that has")
    if bool(issue.replaces) != bool(issue.because):
        raise ReportError("a report that replaces another says which (--replaces) and why (--because)")
    if issue.replaces:
        _check_replaced(issue.replaces, known)
    else:
        _check_first(session_id, kind, known)
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


def _check_replaced(number: str, known: Sequence[IssuedReport]) -> None:
    if number not in {one.number for one in known}:
        there = ", ".join(one.number for one in known) or "none"
        raise ReportError(f"no report {number!r} was issued; those that were: {there}")
    for one in known:
        if one.replaces == number:
            raise ReportError(f"report {number} was replaced by {one.number} already; replace that one")


def _check_first(session_id: int, kind: str, known: Sequence[IssuedReport]) -> None:
    replaced = {one.replaces for one in known}
    standing = [one for one in known if (one.session_id, one.kind) == (session_id, kind)]
    for one in standing:
        if one.number not in replaced:
            raise ReportError(
                f"{kind} {one.number} of this session was issued already; a changed one says "
                f"--replaces {one.number} --because TEXT, a copy is written without --issue"
            )


def _ns(moment: datetime) -> int:
    return round(moment.timestamp() * 1e6) * 1000
