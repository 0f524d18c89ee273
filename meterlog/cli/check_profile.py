"""meterlog check profile: a meter's own frequency response out of its checks, as a file."""

from pathlib import Path
from typing import Annotated

import typer

from meterlog.bench import load_profile_text
from meterlog.checking.errors import CheckError
from meterlog.checking.points_file import load_points
from meterlog.checking.profile import profile_text, sweep_of
from meterlog.cli.options import Data
from meterlog.quantity import Quantity, QuantityError, Unit, parse_quantity, readable_scale
from meterlog.records import DataFolder, list_meter_checks


def profile(
    points: Annotated[Path, typer.Argument(help="The file of points that the checks were taken by.")],
    *,
    output: Annotated[Path, typer.Option("--output", "-o", help="The file to be written, a .toml.")],
    meter: Annotated[
        str, typer.Option("--meter", help="Its name in the bench file, or its serial number.")
    ] = "",
    about: Annotated[
        str, typer.Option("--about", help="The frequency where what its maker states is to count.")
    ] = "1 kHz",
    valid_days: Annotated[float, typer.Option(min=1.0, help="How long it is to hold.")] = 365.0,
    data: Data = None,
) -> None:
    """Write a meter's own frequency response, out of its last checks at the points of a file.

    First: meterlog check run POINTS. The file is then named as `profile` of a channel in the bench file.
    """
    if output.exists():
        raise CheckError(f"{output} is there already; choose another name, or remove it")
    if output.suffix != ".toml":
        raise CheckError(f"{output}: give it a name that ends in .toml")
    record = DataFolder(data).open_existing()
    names = [point.name for point in load_points(points).points]
    text = profile_text(sweep_of(list_meter_checks(record), meter, names), _hertz(about), valid_days)
    made = load_profile_text(text, str(output))  # what cannot be read is not written
    output.write_text(text, encoding="utf-8")
    print(f"{output}: {made.meter}, {len(made.rows)} frequencies about {about}, measured {made.measured}")
    for row in made.rows:
        at = Quantity(row.frequency_hz, readable_scale(row.frequency_hz, Unit.HERTZ))
        print(f"  {at}: {row.deviation_db:+.3f} dB, ± {2.0 * row.standard_uncertainty_db:.2g} dB (k = 2)")


def _hertz(text: str) -> float:
    try:
        found = parse_quantity(text)
    except QuantityError as error:
        raise CheckError(f"--about: {error}") from error
    if found.scale.unit is not Unit.HERTZ or found.base <= 0.0:
        raise CheckError(f"--about: {found} is no frequency; write one such as 1 kHz")
    return found.base
