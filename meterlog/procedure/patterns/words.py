"""How lengths of time are said."""

from math import ceil


def time_text(seconds: float) -> str:
    """Whole seconds, rounded up: "40 s", "2 min 5 s", "1 h 0 min"."""
    minutes, rest = divmod(ceil(round(seconds, 3)), 60)
    hours, minutes = divmod(minutes, 60)
    if hours:
        return f"{hours} h {minutes} min"
    return f"{minutes} min {rest} s" if minutes else f"{rest} s"
