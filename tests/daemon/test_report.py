"""The report through the API: in its forms, and handed over under a number. All names are invented."""

import hashlib
from typing import Any

import pytest

from tests.daemon.conftest import House
from tests.daemon.test_api import error_of, settled


def test_a_pdf_is_shown_under_its_name(house: House) -> None:
    number = settled(house)
    answer = house.client.get(f"/api/sessions/{number}/report", params={"format": "pdf", "paper": "letter"})
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.headers["content-disposition"] == f'inline; filename="session-{number}.pdf"'
    assert answer.content.startswith(b"%PDF-")


def test_a_sheet_with_the_name_of_the_customer(house: House) -> None:
    number = settled(house)
    asked = {"sheet": "true", "customer": "A. Customer"}
    answer = house.client.get(f"/api/sessions/{number}/report", params=asked)
    assert "Test sheet" in answer.text
    assert "A. Customer" in answer.text
    assert answer.headers["content-security-policy"].startswith("default-src 'none'")


NO_GLYPH = "\U00012f90"  # of a script that hardly a font has, but printable, unlike one that is not assigned


@pytest.mark.parametrize("asked", [{"format": "odt"}, {"paper": "a5"}])
def test_a_form_that_is_not_there(house: House, asked: dict[str, str]) -> None:
    number = settled(house)
    assert house.client.get(f"/api/sessions/{number}/report", params=asked).status_code == 422


def ended(house: House, customer: str = "") -> int:
    asked = {"procedure": "two", "unit_model": "Recorder", "customer": customer}
    number = int(house.post("/api/sessions", asked).json()["id"])
    assert house.post("/api/session/action", {"kind": "break-off", "text": "no time"}).json()["accepted"]
    house.desk.writer.flush()
    return number


def issue(house: House, number: int, **asked: Any) -> Any:
    return house.post(f"/api/sessions/{number}/issue", asked)


def test_it_is_issued_under_a_number_and_opened_again_as_it_was(house: House) -> None:
    number = ended(house, "A. Customer")
    made = issue(house, number).json()
    assert (made["number"], made["kind"], made["customer"]) == ("1-1", "report", "A. Customer")
    assert made["forms"] == ["html", "pdf"]
    path = f"/api/sessions/{number}/issued/1-1"
    paper = house.client.get(path, params={"format": "pdf"})
    assert paper.headers["content-disposition"] == 'inline; filename="issued-1-1.pdf"'
    assert hashlib.sha256(paper.content).hexdigest() == made["file_digest"]
    page = house.client.get(path)
    assert "report 1-1, session 1" in page.text
    assert page.headers["content-security-policy"].startswith("default-src 'none'")
    assert house.client.get(f"/api/sessions/{number}").json()["issued"] == [made]


def test_one_that_replaces_it_names_it_and_why_and_only_that_one_stands(house: House) -> None:
    number = ended(house)
    issue(house, number)
    again = issue(house, number)
    assert again.status_code == 422
    assert "replaces 1-1, because TEXT" in error_of(again)["what"]
    without = issue(house, number, replaces="1-1")
    assert "which one (replaces) and why (because)" in error_of(without)["what"]
    made = issue(house, number, replaces="1-1", because="wrong address", format="html").json()
    page = house.client.get(f"/api/sessions/{number}/issued/1-2")
    assert "Replaces report 1-1, because: wrong address" in page.text
    assert hashlib.sha256(page.content).hexdigest() == made["file_digest"]
    assert "Replaces report" not in house.client.get(f"/api/sessions/{number}/issued/1-1").text
    assert issue(house, number, sheet=True).json()["number"] == "1-3"
    assert house.client.get("/api/sessions").json()[0]["issued_numbers"] == ["1-2", "1-3"]


def test_a_session_that_runs_is_not_issued(house: House) -> None:
    assert "session 1 has not ended" in error_of(issue(house, settled(house)))["what"]
    assert house.client.get("/api/sessions").json()[0]["issued_numbers"] == []


def test_a_character_that_no_font_has_wants_it_as_html(house: House) -> None:
    number = ended(house)
    refused = issue(house, number, customer=f"A. Customer {NO_GLYPH}")
    assert refused.status_code == 422
    assert "take the report as HTML" in error_of(refused)["what"]
    assert issue(house, number, customer=f"A. Customer {NO_GLYPH}", format="html").json()["forms"] == ["html"]


def test_a_number_that_was_not_issued(house: House) -> None:
    number = ended(house)
    answer = house.client.get(f"/api/sessions/{number}/issued/1-7")
    assert answer.status_code == 404
    assert "no report '1-7' was issued of session 1; those that were: none" in error_of(answer)["what"]
    assert house.client.get(f"/api/sessions/{number}/issued/1-7?format=odt").status_code == 422
    assert issue(house, number, format="odt").status_code == 422
