"""Coverage factor for a coverage probability of 95.45 % from effective degrees of freedom."""

import math

# Student's t at 95.45 %: JCGM 100:2008 Table G.2, of which EA-4/02 Appendix E has every other row. Between
# rows the next lower number of degrees of freedom counts, so the factor errs on the wide side.
_FACTORS = (
    (1, 13.97),
    (2, 4.53),
    (3, 3.31),
    (4, 2.87),
    (5, 2.65),
    (6, 2.52),
    (7, 2.43),
    (8, 2.37),
    (9, 2.32),
    (10, 2.28),
    (11, 2.25),
    (12, 2.23),
    (13, 2.21),
    (14, 2.20),
    (15, 2.18),
    (16, 2.17),
    (17, 2.16),
    (18, 2.15),
    (19, 2.14),
    (20, 2.13),
    (25, 2.11),
    (30, 2.09),
    (35, 2.07),
    (40, 2.06),
    (50, 2.05),
    (100, 2.025),
    (math.inf, 2.00),
)


def coverage_factor(degrees_of_freedom: float) -> float:
    """k for 95.45 % coverage. Fewer than one degree of freedom counts as one; None is not accepted."""
    factor = _FACTORS[0][1]
    for row_degrees, row_factor in _FACTORS:
        if degrees_of_freedom >= row_degrees:
            factor = row_factor
    return factor


def expanded_uncertainty(standard_uncertainty: float, degrees_of_freedom: float) -> tuple[float, float]:
    """(U, k): U = k * u in the unit of `standard_uncertainty`, after JCGM 100:2008 6.2.1 and G.6.4."""
    factor = coverage_factor(degrees_of_freedom)
    return factor * standard_uncertainty, factor
