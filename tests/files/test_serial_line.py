"""The table of a serial line: one for the bench file, for dialects of SCPI, and for described meters."""

from collections.abc import Callable
from pathlib import Path

import pytest

from meterlog.bench import BenchError, load_bench_text
from meterlog.files import FileError, LineTable
from meterlog.reading import Line
from meterlog_drivers.declared.line_file import load_lines
from meterlog_drivers.scpi.dialect_file import find_dialect

BENCH = """\
[bench]
name = "x"
[[meter]]
name = "m"
driver = "scpi"
address = "/dev/ttyUSB0"
[meter.line]
LINE
[[channel]]
name = "c"
meter = "m"
coupling = "dc"
"""
SCPI = 'like = "plain"\nsummary = "an invented meter"\n[line]\nLINE\n'
DESCRIBED = (
    '[dialect]\nname = "x"\nsource = "x"\n[line]\nLINE\n[[answer]]\nline = "{number}"\nmeans = "V dc"\n'
)


def of_bench(line: str, folder: Path) -> LineTable:
    return load_bench_text(BENCH.replace("LINE", line), str(folder / "mine.toml")).meters[0].line


def of_scpi(line: str, folder: Path) -> LineTable:
    return find_dialect(kept(folder, SCPI, line)).line


def of_described(line: str, folder: Path) -> LineTable:
    return load_lines(Path(kept(folder, DESCRIBED, line))).tables.line


def kept(folder: Path, text: str, line: str) -> str:
    path = folder / "mine.toml"
    path.write_text(text.replace("LINE", line), encoding="utf-8")
    return str(path)


Load = Callable[[str, Path], LineTable]
KINDS = pytest.mark.parametrize(
    ("load", "place"),
    [(of_bench, "8: meter.1.line"), (of_scpi, "4: line"), (of_described, "5: line")],
    ids=["bench", "scpi", "described"],
)


@KINDS
def test_each_kind_of_file_says_it_in_the_same_words(load: Load, place: str, tmp_path: Path) -> None:
    said = (
        'baud = 1200\ndata_bits = 7\nparity = "O"\nstop_bits = 1.5\ndtr = true\nrts = false\n'
        'quiet = "500 ms"\nflow = "xon/xoff"'
    )
    assert load(said, tmp_path).over(Line()) == Line(1200, 7, "O", 1.5, True, False, 0.5, "xon/xoff")


@KINDS
@pytest.mark.parametrize(
    ("field", "message"),
    [
        ("baud = 0", "baud: must be at least 50, not 0"),
        ("data_bits = 9", "data_bits: must be one of 5, 6, 7, 8, not 9"),
        ('parity = "odd"', "parity: must be one of 'N', 'E', 'O', 'M', 'S', not 'odd'"),
        ("stop_bits = 3", "stop_bits: must be at most 2.0, not 3"),
        ('dtr = "high"', "dtr: write true or false without quotes, not 'high'"),
        ("quiet = 2", 'quiet: write a text with its unit, for example "1.5 s" or "20 min"'),
        ('quiet = "5 min"', "quiet: must be at most 60.0, not '5 min'"),
        ('flow = "rts"', "flow: must be one of 'none', 'xon/xoff', 'rts/cts', 'dtr/dsr', not 'rts'"),
        ("speed = 1", "speed: no such field here; look for a misspelling"),
    ],
)
def test_what_no_port_can_be_is_told_at_its_line(
    load: Load, place: str, field: str, message: str, tmp_path: Path
) -> None:
    with pytest.raises((BenchError, FileError, ValueError)) as caught:
        load(field, tmp_path)
    assert str(caught.value) == f"{tmp_path / 'mine.toml'}:{place}.{message}"


def test_what_a_table_does_not_say_stays_as_the_driver_has_it() -> None:
    own = Line(2400, 7, "E", 2, dtr=True, rts=False, quiet_s=1.0, flow="rts/cts")
    assert LineTable().over(own) == own
    assert LineTable(rts=True, flow="none").over(own) == Line(2400, 7, "E", 2, True, True, 1.0, "none")
