"""docs/dialects.md: its examples are read as it says, its tables name all there is. Invented meters."""

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from pydantic import BaseModel

from meterlog.bench import load_bench
from meterlog.files import LineTable
from meterlog.reading import Coupling, Garbled, State
from meterlog.testing import Chunks
from meterlog_drivers.declared import frame_model
from meterlog_drivers.declared.binary import format_of as frames_of
from meterlog_drivers.declared.common_model import Head
from meterlog_drivers.declared.display_file import load_display
from meterlog_drivers.declared.display_model import WORDS, Digit, FrameTable, Shown
from meterlog_drivers.declared.frame_file import load_frames
from meterlog_drivers.declared.frame_model import BinaryAsk, FrameTables, LengthField, Part, Sum, Value
from meterlog_drivers.declared.line_model import (
    Answer,
    Ask,
    Command,
    Identify,
    Number,
    Receive,
    Tables,
)
from meterlog_drivers.declared.segments import format_of
from meterlog_drivers.declared.template import FIELDS
from tests.drivers.declared.kit import connected, kept, settings

TEXT = (Path(__file__).parents[3] / "docs" / "dialects.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```toml\n(.*?)```", TEXT, re.DOTALL)
LINES = next(one for one in EXAMPLES if "[[answer]]" in one)


def test_the_worked_example_is_short() -> None:
    assert len(LINES.splitlines()) < 60


def test_the_worked_example_reads_the_meter_that_its_manual_describes(tmp_path: Path) -> None:
    answers = iter([b"N,+012.34 mV\r\n", b"O,+999.99 V \r\n", b"O,+999.99 V\r\n", b"E07\r\n"])

    def meter(line: bytes) -> Chunks:
        if line == b"ID\r":
            return [(0.05, b"MODEL 3\r\n")]
        return [(1.2, next(answers))] if line == b"RD\r" else ()

    wanted = settings(kept(tmp_path, LINES), coupling=Coupling.AC)
    connection, wire = connected(wanted, meter)
    (shown,) = connection.poll(1.0)
    assert (shown.value, shown.unit, shown.function, shown.coupling) == (0.01234, "V", "voltage", "ac")
    assert shown.resolution == 1e-05
    with pytest.raises(Garbled, match="fits no line"):
        connection.poll(1.0)
    connection.resynchronise()
    assert [one.state for one in connection.poll(1.0)] == [State.OVERLOAD]
    with pytest.raises(Garbled, match="error 07"):
        connection.poll(1.0)
    assert wire.written[:2] == [b"ID\r", b"FN VAC\r"]


def test_the_bench_file_beside_it_is_sound(tmp_path: Path) -> None:
    bench_text = next(one for one in EXAMPLES if 'driver = "ascii"' in one)
    (tmp_path / "model-3.toml").write_text(LINES, encoding="utf-8")
    bench = tmp_path / "bench.toml"
    bench.write_text('[bench]\nname = "x"\n' + bench_text, encoding="utf-8")
    assert load_bench(bench).meters[0].dialect == str(tmp_path / "model-3.toml")


def test_every_field_of_a_line_is_explained() -> None:
    assert [field for field in FIELDS if f"`{{{field}" not in TEXT] == []


def test_every_table_is_explained() -> None:
    names = [field.alias or name for name, field in Tables.model_fields.items()]
    assert [name for name in names if f"[{name}]" not in TEXT] == []


@pytest.mark.parametrize("table", [Head, LineTable, Ask, Identify, Receive, Answer, Number, Command])
def test_every_field_is_explained(table: type[BaseModel]) -> None:
    written = {re.split(r"\W", name)[0] for name in re.findall(r"[`{, ]([a-z0-9_]+)(?:`| = )", TEXT)}
    assert set(table.model_fields) - written == set()


def test_the_map_of_a_display_is_sound(tmp_path: Path) -> None:
    map_text = next(one for one in EXAMPLES if "[[digit]]" in one)
    tables = load_display(Path(kept(tmp_path, map_text))).tables
    (shown,) = format_of(tables, "x").decoder().feed(bytes.fromhex("17 20 35 4D 5B"), 0)
    assert (shown.value, shown.unit, shown.coupling) == (1.2, "V", "dc")


def test_every_annunciator_and_field_of_a_map_is_named() -> None:
    assert [word for word in WORDS if f"`{word}`" not in TEXT] == []
    for table in (FrameTable, Digit, Shown):
        assert [name for name in table.model_fields if not re.search(rf"\b{name}\b", TEXT)] == []


def test_the_example_of_finding_out_runs() -> None:
    code = next(one for one in re.findall(r"```python\n(.*?)```", TEXT, re.DOTALL) if "learn(" in one)
    names: dict[str, Any] = {}
    exec(code, names)
    map_text = next(one for one in EXAMPLES if "[[digit]]" in one)
    known = tomllib.loads(map_text)
    lesson = names["lesson"]
    assert lesson.impossible == ()
    left = {**lesson.open, **{element: (place,) for element, place in lesson.found.items()}}
    for element, places in left.items():
        table, _, rest = element.partition(".")
        place, _, name = rest.rpartition(".")
        true = known["digit"][int(place) - 1][name] if table == "digit" else known[table][name]
        assert tuple(true) in places


def test_the_binary_frame_is_read(tmp_path: Path) -> None:
    text = next(one for one in EXAMPLES if "[value]" in one)
    tables = load_frames(Path(kept(tmp_path, text))).tables
    frame = b"\xaa\x05\x01" + (-1234).to_bytes(2, "big", signed=True) + b"\x01"
    data = frame + bytes([sum(frame) % 256])
    (shown,) = frames_of(tables, "x").decoder().feed(data + data[:4], 0)
    assert (shown.value, shown.unit, shown.function, shown.coupling) == (-1.234, "V", "voltage", "dc")


@pytest.mark.parametrize(
    "table", [frame_model.FrameTable, LengthField, Sum, Value, Part, BinaryAsk, FrameTables]
)
def test_every_field_of_a_frame_is_named(table: type[BaseModel]) -> None:
    names = [field.alias or name for name, field in table.model_fields.items()]
    assert [name for name in names if not re.search(rf"\b{name}\b", TEXT)] == []
