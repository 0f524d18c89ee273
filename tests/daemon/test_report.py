"""The report through the API, in its forms."""

import pytest

from tests.daemon.conftest import House
from tests.daemon.test_api import settled


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


@pytest.mark.parametrize("asked", [{"format": "odt"}, {"paper": "a5"}])
def test_a_form_that_is_not_there(house: House, asked: dict[str, str]) -> None:
    number = settled(house)
    assert house.client.get(f"/api/sessions/{number}/report", params=asked).status_code == 422
