"""The options of a bench file, each of its kind or refused with what would be right."""

from collections.abc import Mapping

from meterlog.reading import Options

KNOWN = (
    "buffered",
    "cycles",
    "format",
    "identity",
    "interval",
    "overload",
    "remote",
    "resolution",
    "samples",
    "terminator",
)


def refuse_unknown(options: Options) -> None:
    """ValueError with the options there are."""
    if unknown := sorted(set(options) - set(KNOWN)):
        raise ValueError(f"no option {', '.join(unknown)}; the scpi driver knows {', '.join(KNOWN)}")


def positive(options: Options, key: str) -> float | None:
    """A number above 0, None if it is not there."""
    value = options.get(key)
    if value is None:
        return None
    if isinstance(value, (str, bool)) or not 0 < value < float("inf"):
        raise ValueError(f"the option {key} is {value!r}; a number above 0, in the base unit, is wanted")
    return float(value)


def whole(options: Options, key: str, most: int) -> int | None:
    """A whole number from 1 to `most`, None if it is not there."""
    value = options.get(key)
    if value is None:
        return None
    if not isinstance(value, int) or isinstance(value, bool) or not 1 <= value <= most:
        raise ValueError(f"the option {key} is {value!r}; a whole number from 1 to {most} is wanted")
    return value


def choice(options: Options, key: str, choices: Mapping[str, object], usual: str) -> str:
    """One of the words."""
    value = str(options.get(key, usual)).lower()
    if value not in choices:
        raise ValueError(f'the option {key} is "{value}"; possible are {", ".join(choices)}')
    return value


def truth(options: Options, key: str, *, usual: bool = False) -> bool:
    """true or false."""
    value = options.get(key, usual)
    if value is True or value is False:
        return value
    raise ValueError(f"the option {key} is {value!r}; true or false is wanted")
