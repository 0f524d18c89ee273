"""The report as one HTML page: no script, nothing fetched, the same on paper as on the screen."""

import re
from datetime import UTC, datetime

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from meterlog.report.charts import chart_svg
from meterlog.report.model import Chart, Report

_PRETTY_UNITS = (
    (re.compile(r"\bu(?=[VAFHWs]\b)"), "µ"),
    (re.compile(r"ohm\b"), "Ω"),
    (re.compile(r"\bdeg(?=[CF]\b)"), "°"),
)
_BEFORE_UNIT = re.compile(r"(?<=\d) (?!to\b|beyond\b)(?=[A-Za-zµΩ%°])")
_HYPHEN_MINUS = re.compile(r"-(?=[\d.]|inf)")


def report_html(report: Report) -> str:
    """The whole page."""
    page = _environment().get_template("report.html.j2")
    return page.render(
        report=report, charts=[_drawn(number, chart) for number, chart in enumerate(report.charts)]
    )


def _environment() -> Environment:
    loader = PackageLoader("meterlog.report", "templates")
    environment = Environment(
        loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    environment.filters.update(number=_number, when=_when, utc=_utc, css_text=_css_text)
    return environment


def _drawn(number: int, chart: Chart) -> tuple[str, Markup]:
    """Caption and picture. The SVG is our own drawing: texts from outside are escaped in it by the drawer."""
    return chart.caption, Markup(chart_svg(chart.trace, f"chart{number}"))  # noqa: S704


def _number(text: str) -> str:
    """Numbers and units as print sets them: a real minus, µ, Ω and °, no line break before a unit."""
    for pattern, sign in _PRETTY_UNITS:
        text = pattern.sub(sign, text)
    return _HYPHEN_MINUS.sub("−", _BEFORE_UNIT.sub("\u00a0", text))


def _when(moment: datetime) -> str:
    """To the second, with the offset from UTC: 2026-10-25 02:30:00 +02:00."""
    text = moment.isoformat(sep=" ", timespec="seconds")
    return f"{text[:19]} {text[19:]}"


def _utc(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y-%m-%d %H:%M:%S} UTC"


def _css_text(text: str) -> Markup:
    """A text as a CSS string: all but letters and digits as escapes, so that no unit name can end it."""
    escaped = "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):06x}" for c in text)
    return Markup(f'"{escaped}"')  # noqa: S704
