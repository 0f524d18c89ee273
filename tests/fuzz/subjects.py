"""All that is fuzzed. A decoder that is installed and not here fails a test."""

from collections.abc import Callable, Mapping

from tests.fuzz import described, handhelds, lines, sound
from tests.fuzz.subject import Subject


def _handheld(name: str) -> Callable[[], Subject]:
    return lambda: handhelds.subject(name)


def _dialect(name: str) -> Callable[[], Subject]:
    return lambda: lines.dialect(name)


SUBJECTS: Mapping[str, Callable[[], Subject]] = {
    **{name: _handheld(name) for name in handhelds.CHECKS},
    **{f"ascii: {name}": _dialect(name) for name in lines.DIALECTS},
    "scpi": lines.scpi,
    "audio": sound.subject,
    "segments: fs9721-display": described.display,
    "binary: ab-cd-sum": described.frames,
}
