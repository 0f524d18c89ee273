"""The generated bench file is TOML that says what was meant."""

import tomllib

from hypothesis import given
from hypothesis import strategies as st

from meterlog.simulate.bench_file import Entry, text

# A TOML file is UTF-8: lone surrogates have no place in it.
NAMES = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)


@given(name=NAMES, address=NAMES)
def test_any_text_survives(name: str, address: str) -> None:
    entry = Entry({"name": name, "address": address}, {"name": "output", "meter": name})
    data = tomllib.loads(text({"name": name}, {"vu": "+4 dBu"}, [entry]))
    assert data["bench"]["name"] == name
    assert data["levels"] == {"vu": "+4 dBu"}
    assert data["meter"] == [{"name": name, "address": address}]
    assert data["channel"] == [{"name": "output", "meter": name}]


def test_what_the_driver_is_told_stands_with_its_meter() -> None:
    told = Entry({"name": "one"}, {"name": "output", "meter": "one"}, {"resolution": 10.0 / 1_000_000})
    untold = Entry({"name": "two"}, {"name": "input", "meter": "two"})
    data = tomllib.loads(text({"name": "bench"}, {}, [told, untold]))
    assert data["meter"] == [{"name": "one", "options": {"resolution": 1e-5}}, {"name": "two"}]
