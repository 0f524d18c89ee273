"""TOML tells texts, numbers, truths and days apart (TOML 1.0.0, "Key/Value Pair"); so do our files."""

import tomllib
from collections.abc import Hashable, Iterator
from datetime import date
from typing import Annotated, Any, get_args

import pytest
from pydantic import BaseModel, TypeAdapter, ValidationError
from pydantic.fields import FieldInfo

from meterlog.bench import BenchError, load_bench_text
from meterlog.bench.bench_model import BenchTables
from meterlog.bench.profile_file import _Tables as ProfileTables
from meterlog.bench.specification_file import _Tables as SpecificationTables
from meterlog.checking.points_file import _Tables as PointsTables
from meterlog.procedure.model import Procedure
from meterlog.report.batch_file import _File as BatchFile
from meterlog_drivers.declared.display_model import DisplayTables
from meterlog_drivers.declared.frame_model import FrameTables
from meterlog_drivers.declared.line_model import Tables as LineTables
from meterlog_drivers.scpi.dialect import Dialect

FILES = (
    BenchTables,
    SpecificationTables,
    ProfileTables,
    PointsTables,
    BatchFile,
    Procedure,
    LineTables,
    DisplayTables,
    FrameTables,
    Dialect,
)
MISTAKEN = (
    *tomllib.loads("a = 2026-03-01T00:00:00\nb = 00:00:01").values(),
    "yes",
    "true",
    "1",
    "2",
    "1.5",
    "2026-03-01",
    True,
    1,
    0,
    2.0,
    1.5,
    0.0,
    float("inf"),
    float("nan"),
)
NUMBERS = (int, float)
OF_DRIVERS = ("options",)
"""Of any kind; the driver judges each (tests/drivers)."""


def fields_of(kind: Any) -> dict[str, FieldInfo]:
    found: dict[str, FieldInfo] = getattr(kind, "__pydantic_fields__", {})
    return found


def models_in(kind: Any, seen: set[Any]) -> Iterator[Any]:
    """The model, and all that its fields hold."""
    if not isinstance(kind, Hashable) or kind in seen:
        return
    seen.add(kind)
    if fields_of(kind):
        yield kind
    for inner in [*get_args(kind), *(field.annotation for field in fields_of(kind).values())]:
        yield from models_in(inner, seen)


def every_field() -> list[tuple[str, FieldInfo]]:
    seen: set[Any] = set()
    models = [model for file in FILES for model in models_in(file, seen)]
    return [
        (f"{model.__module__}.{model.__qualname__}.{name}", field)
        for model in models
        for name, field in fields_of(model).items()
        if name not in OF_DRIVERS
    ]


def leaves(value: Any) -> Iterator[Any]:
    if isinstance(value, dict):
        for one in value.values():
            yield from leaves(one)
    elif isinstance(value, list | tuple):
        for one in value:
            yield from leaves(one)
    else:
        yield value


def taken(adapter: TypeAdapter[Any], value: object) -> Iterator[Any]:
    """What a value becomes, by itself or as one of several."""
    for given in (value, [value], [value] * 2, {"x": value}, {"0C": value}, {"x": [value] * 2}):
        try:
            yield from leaves(adapter.validate_python(given))
        except (ValidationError, AttributeError):
            continue


def is_another(value: Any, came: Any) -> bool:
    """Whether a value was taken for one of another kind. A whole number is a number too."""
    if isinstance(came, BaseModel) or type(came) not in (bool, int, float, date):
        return False
    if type(came) is float and type(value) in NUMBERS:
        return came != came or came in (float("inf"), -float("inf"))
    return type(came) is not type(value)


@pytest.mark.parametrize(
    ("name", "field"), every_field(), ids=lambda one: one if isinstance(one, str) else ""
)
def test_no_field_of_any_file_takes_a_value_of_another_kind(name: str, field: FieldInfo) -> None:
    adapter: TypeAdapter[Any] = TypeAdapter(
        Annotated[(field.annotation, *field.metadata)] if field.metadata else field.annotation
    )
    mistaken = [
        (value, came) for value in MISTAKEN for came in taken(adapter, value) if is_another(value, came)
    ]
    assert mistaken == []


BENCH = """\
[bench]
name = "x"
[levels]
dbm_ohm = 600
[[meter]]
name = "m"
driver = "scpi"
address = "/dev/ttyUSB0"
calibrated = 2026-03-01
[meter.line]
stop_bits = 1
[[channel]]
name = "c"
meter = "m"
display = 1
coupling = "dc"
"""


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("dbm_ohm = 600", 'dbm_ohm = "600"', "4: levels.dbm_ohm: write a number without quotes, not '600'"),
        ("dbm_ohm = 600", "dbm_ohm = true", "4: levels.dbm_ohm: write a number without quotes, not true"),
        ("dbm_ohm = 600", "dbm_ohm = inf", "4: levels.dbm_ohm: write a finite number, not inf"),
        (
            "2026-03-01",
            '"2026-03-01"',
            "9: meter.1.calibrated: write a date without quotes, such as 2026-03-01, not '2026-03-01'",
        ),
        (
            "2026-03-01",
            "0",
            "9: meter.1.calibrated: write a date without quotes, such as 2026-03-01, not 0",
        ),
        (
            "2026-03-01",
            "2026-03-01T00:00:00",
            "9: meter.1.calibrated: write a date without quotes, such as 2026-03-01, not 2026-03-01T00:00:00",
        ),
        (
            "stop_bits = 1",
            'stop_bits = "1"',
            "11: meter.1.line.stop_bits: write a number without quotes, not '1'",
        ),
        ("stop_bits = 1", "dtr = 1", "11: meter.1.line.dtr: write true or false without quotes, not 1"),
        (
            "display = 1",
            "display = 1.0",
            "15: channel.1.display: write a whole number without quotes, not 1.0",
        ),
    ],
)
def test_it_says_where_and_what_to_write(old: str, new: str, message: str) -> None:
    load_bench_text(BENCH, "b.toml")
    with pytest.raises(BenchError) as caught:
        load_bench_text(BENCH.replace(old, new), "b.toml")
    assert str(caught.value) == f"b.toml:{message}"
