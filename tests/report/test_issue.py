"""A report that is handed over has a number; one that replaces it names it and says why.

ISO/IEC 17025:2017, 7.8.2.1 d and 7.8.8. All names are invented.
"""

import hashlib
from pathlib import Path

import pytest
from sqlalchemy import Engine

from meterlog.procedure import ActionKind
from meterlog.records import issued_file, list_issued, standing_numbers
from meterlog.records.engine import for_writing
from meterlog.records.schema import issued_files
from meterlog.report import Form, NotIssued, ReportError, open_session, write_issued, write_report
from meterlog.report.build import build_report
from tests.report.recorded import Recorded, new_record
from tests.report.test_pdf import NO_GLYPH, pages_of


@pytest.fixture
def engine(tmp_path: Path) -> Engine:
    return new_record(tmp_path)


def done(engine: Engine) -> int:
    with Recorded(engine) as session:
        session.settle_at(15.0)
        session.act(ActionKind.BREAK_OFF, "no time")
    return session.id


def test_a_copy_has_no_number_and_an_issued_one_is_on_record(engine: Engine, tmp_path: Path) -> None:
    number, path = done(engine), tmp_path / "first.html"
    assert write_report(engine, number, path) == ""
    assert list_issued(engine) == []
    assert write_report(engine, number, path, Form(issue=True, customer="A. Customer")) == "1-1"
    page = path.read_text(encoding="utf-8")
    assert "report 1-1, session 1, unit 7" in page
    assert "End of the report, report 1-1, session 1, unit 7." in page
    (kept,) = list_issued(engine)
    assert (kept.number, kept.kind, kept.customer, kept.replaces) == ("1-1", "report", "A. Customer", "")
    assert kept.file_digest == hashlib.sha256(path.read_bytes()).hexdigest()
    assert kept.results_digest == open_session(engine, number).results_digest


def test_one_that_replaces_another_names_it_and_why_and_copies_list_both(
    engine: Engine, tmp_path: Path
) -> None:
    number, path = done(engine), tmp_path / "report.html"
    write_report(engine, number, path, Form(issue=True, customer="B. Customer"))
    replacing = Form(customer="A. Customer", replaces="1-1", because="wrong customer")
    assert write_report(engine, number, path, replacing) == "1-2"
    assert "Replaces report 1-1, because: wrong customer" in path.read_text(encoding="utf-8")
    first, second = build_report(open_session(engine, number)).header.issued_before
    assert first.startswith("report 1-1 of 20")
    assert first.endswith(", replaced by 1-2")
    assert second.startswith("report 1-2 of 20")


def test_a_report_of_a_new_session_may_replace_that_of_an_earlier_one(engine: Engine, tmp_path: Path) -> None:
    first, second = done(engine), done(engine)
    write_report(engine, first, tmp_path / "one.html", Form(issue=True))
    form = Form(replaces="1-1", because="measured again")
    assert write_report(engine, second, tmp_path / "two.html", form) == "2-1"


@pytest.mark.parametrize(
    ("form", "says"),
    [
        (Form(issue=True), r"report 1-1 .* issued already; .* \(replaces 1-1, because TEXT\)"),
        (Form(replaces="1-1"), r"says which one \(replaces\) and why \(because\)"),
        (Form(because="typing error"), r"says which one \(replaces\) and why \(because\)"),
        (Form(sheet=True, replaces="1-1", because="one page"), "1-1 is a report, and only another report"),
        (Form(replaces="9-9", because="typing error"), "no report '9-9' was issued; those that were: 1-1"),
    ],
)
def test_what_would_leave_two_standing_is_refused(
    engine: Engine, tmp_path: Path, form: Form, says: str
) -> None:
    number = done(engine)
    write_report(engine, number, tmp_path / "first.html", Form(issue=True))
    with pytest.raises(ReportError, match=says):
        write_report(engine, number, tmp_path / "second.html", form)
    assert not (tmp_path / "second.html").exists()
    assert [one.number for one in list_issued(engine)] == ["1-1"]


def test_the_same_one_is_not_replaced_twice(engine: Engine, tmp_path: Path) -> None:
    number, path = done(engine), tmp_path / "report.html"
    write_report(engine, number, path, Form(issue=True))
    write_report(engine, number, path, Form(replaces="1-1", because="one"))
    with pytest.raises(ReportError, match="1-1 was replaced by 1-2 already; replace that one"):
        write_report(engine, number, path, Form(replaces="1-1", because="two"))


def test_a_session_that_runs_is_not_reported_on_under_a_number(engine: Engine, tmp_path: Path) -> None:
    with Recorded(engine) as session:
        session.settle_at(15.0)
    with pytest.raises(ReportError, match="session 1 has not ended"):
        write_report(engine, session.id, tmp_path / "early.html", Form(issue=True))


def test_a_file_that_cannot_be_written_was_not_issued(engine: Engine, tmp_path: Path) -> None:
    number = done(engine)
    for path in (tmp_path / "nowhere" / "report.html", tmp_path):
        with pytest.raises(ReportError, match="cannot be written"):
            write_report(engine, number, path, Form(issue=True))
    assert list_issued(engine) == []


def test_report_and_sheet_are_two_papers_and_each_is_issued_once(engine: Engine, tmp_path: Path) -> None:
    number = done(engine)
    assert write_report(engine, number, tmp_path / "report.html", Form(issue=True)) == "1-1"
    assert write_report(engine, number, tmp_path / "sheet.html", Form(issue=True, sheet=True)) == "1-2"
    with pytest.raises(ReportError, match=r"sheet 1-2 .* issued already"):
        write_report(engine, number, tmp_path / "again.html", Form(issue=True, sheet=True))


def test_one_of_an_earlier_session_is_not_replaced_beside_one_that_stands(
    engine: Engine, tmp_path: Path
) -> None:
    first, second = done(engine), done(engine)
    write_report(engine, first, tmp_path / "one.html", Form(issue=True))
    write_report(engine, second, tmp_path / "two.html", Form(issue=True))
    form = Form(replaces="1-1", because="measured again")
    with pytest.raises(ReportError, match="report 2-1 of this session was issued already"):
        write_report(engine, second, tmp_path / "three.html", form)
    assert standing_numbers(list_issued(engine)) == {1: ["1-1"], 2: ["2-1"]}


@pytest.mark.parametrize("name", ["report.html", "report.pdf"])
def test_it_is_written_again_as_it_was_in_both_forms(engine: Engine, tmp_path: Path, name: str) -> None:
    number, path = done(engine), tmp_path / name
    write_report(engine, number, path, Form(issue=True, customer="A. Customer"))
    write_report(engine, number, tmp_path / "later.html", Form(replaces="1-1", because="wrong address"))
    assert [one.forms for one in list_issued(engine)] == [("html", "pdf")] * 2
    assert standing_numbers(list_issued(engine)) == {1: ["1-2"]}
    write_issued(engine, number, "1-1", again := tmp_path / f"again{path.suffix}")
    assert again.read_bytes() == path.read_bytes()
    write_issued(engine, number, "1-1", page := tmp_path / "again.html")
    write_issued(engine, number, "1-1", paper := tmp_path / "again.pdf")
    assert "report 1-1, session 1, unit 7" in page.read_text(encoding="utf-8")
    assert "report 1-1, session 1, unit 7" in " ".join(pages_of(paper.read_bytes()))


def test_where_no_font_has_its_characters_only_its_page_is_kept(engine: Engine, tmp_path: Path) -> None:
    number, path = done(engine), tmp_path / "report.html"
    write_report(engine, number, path, Form(issue=True, customer=f"A. Customer {NO_GLYPH}"))
    (kept,) = list_issued(engine)
    assert kept.forms == ("html",)
    assert issued_file(engine, "1-1", "html") == path.read_bytes()
    with pytest.raises(NotIssued, match="the record does not keep 1-1 as pdf: it has html"):
        write_issued(engine, number, "1-1", tmp_path / "again.pdf")


def test_what_was_not_issued_of_this_session_is_not_written(engine: Engine, tmp_path: Path) -> None:
    first, second = done(engine), done(engine)
    write_report(engine, first, tmp_path / "one.html", Form(issue=True))
    with pytest.raises(NotIssued, match="no report '1-9' was issued of session 1; those that were: 1-1"):
        write_issued(engine, first, "1-9", tmp_path / "again.html")
    with pytest.raises(NotIssued, match="no report '1-1' was issued of session 2; those that were: none"):
        write_issued(engine, second, "1-1", tmp_path / "again.html")
    assert not (tmp_path / "again.html").exists()


def test_one_of_before_files_were_kept_says_so(engine: Engine, tmp_path: Path) -> None:
    number = done(engine)
    write_report(engine, number, tmp_path / "one.html", Form(issue=True))
    with for_writing(engine).begin() as connection:
        connection.execute(issued_files.delete())
    with pytest.raises(NotIssued, match="by a version that kept no files; who got it has it"):
        write_issued(engine, number, "1-1", tmp_path / "again.html")
