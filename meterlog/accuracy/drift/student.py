"""Student's distribution, as exact as a double, for limits and tests on few checks."""


def two_sided(degrees_of_freedom: float, level: float) -> float:
    """t that a value stays within, on both sides of zero, with probability `level` (0 to 1)."""
    from scipy.special import stdtrit  # noqa: PLC0415 - slow to load, and seldom needed

    return float(stdtrit(degrees_of_freedom, 0.5 + level / 2.0))


def one_sided(degrees_of_freedom: float, level: float) -> float:
    """t that a value stays below with probability `level` (0 to 1)."""
    return two_sided(degrees_of_freedom, 2.0 * level - 1.0)


def chance(t: float, degrees_of_freedom: float) -> float:
    """Probability that chance alone goes as far from zero as `t`, either way."""
    from scipy.special import stdtr  # noqa: PLC0415 - slow to load, and seldom needed

    return 2.0 * float(stdtr(degrees_of_freedom, -abs(t)))
