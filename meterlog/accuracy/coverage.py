"""Coverage factor for a coverage probability of 95.45 % from effective degrees of freedom."""

import math

# EA-4/02 M:2022 (and earlier issues) Appendix E; Student's t at 95.45 %. Between rows the next lower
# number of degrees of freedom counts, so the factor errs on the wide side.
_FACTORS = (
    (1, 13.97),
    (2, 4.53),
    (3, 3.31),
    (4, 2.87),
    (5, 2.65),
    (6, 2.52),
    (7, 2.43),
    (8, 2.37),
    (10, 2.28),
    (20, 2.13),
    (50, 2.05),
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
