"""Whether the meters are good enough, asked over the API for a temperature of the bench."""

import pytest

from tests.daemon.conftest import House
from tests.daemon.desk import BENCH, PROCEDURE
from tests.daemon.test_api import error_of

DESCRIBED = BENCH.replace('serial_number = "S-001"', 'specification = "handheld-2000"')


@pytest.mark.parametrize("house", [DESCRIBED], indirect=True)
def test_the_fit_is_told_for_the_temperature_of_the_bench(house: House) -> None:
    """1.2 % to 28 degC, 0.12 % more for each kelvin above, calculated in tests/cli/test_fit.py."""
    path = "/api/procedures/two/fit"
    (usual,) = house.client.get(path).json()
    (same,) = house.client.get(path, params={"temperature_c": 23}).json()
    (warm,) = house.client.get(path, params={"temperature_c": 34}).json()
    assert (usual["ratio"], same["ratio"]) == (3.93, 3.93)
    assert warm["ratio"] == pytest.approx(2.54, abs=0.01)


@pytest.mark.parametrize("house", [DESCRIBED], indirect=True)
def test_a_session_is_begun_by_the_same_temperature_as_its_fit(house: House) -> None:
    """A window of 0.19 dB is 53.7 mV wide: 1.49 to one by ± 17.97 mV at 23 degC, 0.97 by ± 27.8 mV at 34."""
    (house.procedures / "two.toml").write_text(PROCEDURE.replace('"0.5 dB"', '"0.19 dB"'))
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
