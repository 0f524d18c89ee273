"""The shape of each verdict, beside its word and its colour, so that any one of them can be lost.

SVG within a view box of 16 by 16, drawn with the current colour. A conditional verdict has the sign of its
verdict in a broken outline.
"""

from meterlog.report.standing import Standing

_TICK = '<path d="m4.6 8.3 2.4 2.5 4.6-5.2"/>'
_CROSS = "m5 5 6 6m0-6-6 6"

SHAPES = {
    Standing.PASS: f'<circle cx="8" cy="8" r="7"/>{_TICK}',
    Standing.CONDITIONAL_PASS: f'<circle cx="8" cy="8" r="7" stroke-dasharray="2.6 2.9"/>{_TICK}',
    Standing.CONDITIONAL_FAIL: (
        f'<path d="M1.5 1.5h13v13h-13z" stroke-dasharray="2.6 2.6"/><path d="{_CROSS}"/>'
    ),
    Standing.FAIL: (f'<path d="M1.5 1.5h13v13h-13z" fill="currentColor"/><path d="{_CROSS}" stroke="#fff"/>'),
    Standing.NOT_JUDGED: '<circle cx="8" cy="8" r="7"/><path d="M5 8h6"/>',
    Standing.DONE: '<circle cx="8" cy="8" r="3" fill="currentColor"/>',
    Standing.NOT_DONE: '<circle cx="8" cy="8" r="7" stroke-dasharray="2.6 2.9"/>',
    Standing.SKIPPED: '<path d="m3 3 5 5-5 5m5.500-10 5 5-5 5"/>',
    Standing.INCOMPLETE: '<circle cx="8" cy="8" r="7"/><path d="M8 1a7 7 0 0 1 0 14z" fill="currentColor"/>',
}


def drawing(standing: Standing, colour: str) -> str:
    """A whole SVG file in one colour."""
    shape = SHAPES[standing].replace("currentColor", colour)
    size = 'xmlns="http://www.w3.org/2000/svg" viewBox="0 0 16 16" width="16" height="16"'
    return f'<svg {size} fill="none" stroke="{colour}" stroke-width="1.7">{shape}</svg>'
