"""See `handheld_formats`."""

from tests.testing.specimens.handheld_formats import specimen

SPECIMENS = [specimen("fs9721")]
