"""The report as one HTML page: no script, nothing fetched, the same on paper as on the screen."""

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from meterlog.report.charts import chart_svg
from meterlog.report.model import Chart, Report
from meterlog.report.shapes import SHAPES
from meterlog.report.typography import factor, number, utc, when


def report_html(report: Report) -> str:
    """The whole page."""
    page = _environment().get_template("report.html.j2")
    charts = [_drawn(place, chart) for place, chart in enumerate(report.charts)]
    return page.render(report=report, charts=charts)


def sheet_html(report: Report) -> str:
    """One page for the customer."""
    return _environment().get_template("sheet.html.j2").render(report=report)


def _environment() -> Environment:
    loader = PackageLoader("meterlog.report", "templates")
    environment = Environment(
        loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    environment.globals["shapes"] = SHAPES
    environment.filters.update(factor=factor, number=number, when=when, utc=utc, css_text=_css_text)
    return environment


def _drawn(place: int, chart: Chart) -> tuple[str, Markup]:
    """Caption and picture. The SVG is our own drawing: texts from outside are escaped in it by the drawer."""
    return chart.caption, Markup(chart_svg(chart.trace, f"chart{place}"))  # noqa: S704


def _css_text(text: str) -> Markup:
    """A text as a CSS string: all but letters and digits as escapes, so that no unit name can end it."""
    escaped = "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):06x}" for c in text)
    return Markup(f'"{escaped}"')  # noqa: S704
