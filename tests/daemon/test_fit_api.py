"""Whether the meters are good enough, asked over the API for a temperature of the bench."""

import pytest

from tests.daemon.conftest import House
from tests.daemon.desk import BENCH, PROCEDURE
from tests.daemon.test_api import error_of

DESCRIBED = BENCH.replace('serial_number = "S-001"', 'specification = "handheld-2000"')


@pytest.mark.parametrize("house", [DESCRIBED], indirect=True)
def test_the_fit_is_told_for_the_temperature_of_the_bench(house: House) -> None:
    """+4 dBu within 0.5 dB is 141.5 mV wide; tests/cli/test_fit.py calculates ± 16.09 mV at 23 degC and
    ± 23.94 mV at 34 degC."""
    path = "/api/procedures/two/fit"
    (usual,) = house.client.get(path).json()
    (same,) = house.client.get(path, params={"temperature_c": 23}).json()
    (warm,) = house.client.get(path, params={"temperature_c": 34}).json()
    assert (usual["ratio"], same["ratio"]) == (4.4, 4.4)
    assert warm["ratio"] == pytest.approx(2.955, abs=0.01)


@pytest.mark.parametrize("house", [DESCRIBED], indirect=True)
def test_a_session_is_begun_by_the_same_temperature_as_its_fit(house: House) -> None:
    """A window of 0.165 dB is 46.7 mV wide: 1.45 to one by what it is at 23 degC, 0.97 at 34 degC."""
    (house.procedures / "two.toml").write_text(PROCEDURE.replace('"0.5 dB"', '"0.165 dB"'))
    asked = {"procedure": "two", "unit_model": "X", "temperature_c": 34}
    assert house.client.get("/api/procedures/two/fit?temperature_c=34").json()[0]["fit"] == "not adequate"
    assert house.post("/api/sessions", asked).status_code == 422
    assert house.client.get("/api/procedures/two/fit?temperature_c=23").json()[0]["fit"] == "marginal"
    assert house.post("/api/sessions", asked | {"temperature_c": 23}).status_code == 200


@pytest.mark.parametrize("temperature", ["nan", "inf", "-300", "60.5", "warm", "23 degC", ""])
def test_a_fit_at_no_temperature_of_a_bench_is_refused(house: House, temperature: str) -> None:
    answer = house.client.get("/api/procedures/two/fit", params={"temperature_c": temperature})
    assert answer.status_code == 422
    assert "temperature_c" in error_of(answer)["where"]
