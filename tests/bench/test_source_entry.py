"""[[source]] in a bench file: what it gives, and what is refused. Made up."""

import pytest

from meterlog.bench import BenchError, load_bench_text, load_source_driver

METERS = """\
[bench]
name = "One meter"
[[meter]]
name = "meter"
driver = "scpi"
address = "TCPIP::127.0.0.1::5025::SOCKET"
[[channel]]
name = "output"
meter = "meter"
coupling = "ac"
"""
SOURCE = """\
[[source]]
name = "generator"
driver = "scpi"
address = "TCPIP::127.0.0.1::5026::SOCKET"
most = "+8 dBu"
[source.options]
amplitude = "rms"
"""


def test_what_the_file_says_of_the_source() -> None:
    """+8 dBu = 1.946 V: 0.7746 V times 10^(8/20)."""
    source = load_bench_text(METERS + SOURCE, "bench.toml").source
    assert source is not None
    assert (source.name, source.options) == ("generator", {"amplitude": "rms"})
    assert source.most.base == pytest.approx(1.946, rel=1e-3)
    assert load_bench_text(METERS, "bench.toml").source is None


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('most = "+8 dBu"\n', "", "most"),
        ("+8 dBu", "1 kHz", "write a value above 0 such as 2 V"),
        ('driver = "scpi"', 'driver = "scpy"', "no driver 'scpy' is installed"),
        ("5026", "5025", "is a meter's address"),
        ("TCPIP::127.0.0.1::5026::SOCKET", "nowhere", "nowhere"),
        ("[[source]]", SOURCE + "[[source]]", "too many; give at most 1"),
    ],
)
def test_what_cannot_be_is_refused_with_its_line(old: str, new: str, says: str) -> None:
    with pytest.raises(BenchError, match=r"bench\.toml:\d+") as refused:
        load_bench_text(METERS + SOURCE.replace(old, new), "bench.toml")
    assert says in str(refused.value)


def test_a_driver_that_sets_no_sources_says_so() -> None:
    with pytest.raises(BenchError, match="driver 'fs9721' sets no sources"):
        load_source_driver("fs9721")
