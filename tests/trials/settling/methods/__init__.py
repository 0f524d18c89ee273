"""Published methods of telling a steady level from a moving one, each fairly implemented and to be tuned."""

from tests.trials.settling.methods.band import BAND
from tests.trials.settling.methods.candidate import Candidate
from tests.trials.settling.methods.cusum import CUSUM
from tests.trials.settling.methods.exponential import EXPONENTIAL_TAIL
from tests.trials.settling.methods.likelihood_ratio import LIKELIHOOD_RATIO
from tests.trials.settling.methods.mser import MSER
from tests.trials.settling.methods.page_hinkley import PAGE_HINKLEY
from tests.trials.settling.methods.run_length import RUN_LENGTH
from tests.trials.settling.methods.slope import SLOPE_EQUIVALENCE, SLOPE_SIGNIFICANCE
from tests.trials.settling.methods.trend import LOCAL_LINEAR_TREND
from tests.trials.settling.methods.variance_ratio import RATIO_OF_VARIANCES
from tests.trials.settling.methods.von_neumann import VON_NEUMANN

METHODS: dict[str, Candidate] = {
    candidate.name: candidate
    for candidate in (
        BAND,
        SLOPE_SIGNIFICANCE,
        SLOPE_EQUIVALENCE,
        RATIO_OF_VARIANCES,
        VON_NEUMANN,
        CUSUM,
        PAGE_HINKLEY,
        LIKELIHOOD_RATIO,
        RUN_LENGTH,
        LOCAL_LINEAR_TREND,
        EXPONENTIAL_TAIL,
        MSER,
    )
}

__all__ = ["METHODS", "Candidate"]
