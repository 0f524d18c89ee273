"""Points of Student's distribution."""

_TWO_SIDED_95 = (12.71, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228)
# JCGM 100:2008 Table G.2, 95 %, 1 to 10 degrees of freedom; from memory, recomputed in the tests.

_Z = 1.959964
_FIRST, _SECOND = _Z**3 + _Z, 5 * _Z**5 + 16 * _Z**3 + 3 * _Z


def students_t(degrees_of_freedom: float) -> float:
    """Two-sided 95 % point of Student's t. Fractions of a degree are taken down, to no fewer than one.

    From ten on by Hill's expansion about the normal point (Communications of the ACM 13 (1970) 617), right
    to three figures.
    """
    if degrees_of_freedom < 10:
        return _TWO_SIDED_95[int(degrees_of_freedom) - 1 if degrees_of_freedom > 1.0 else 0]
    return _Z + _FIRST / (4.0 * degrees_of_freedom) + _SECOND / (96.0 * degrees_of_freedom**2)
