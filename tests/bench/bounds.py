"""How little a small count proves: upper bounds on a rate."""

from collections.abc import Sequence

import numpy as np
from scipy import stats

CONFIDENCE = 0.95
RESAMPLES = 1000
SEED = 1


def upper_bound(wrong: int, cases: int, confidence: float = CONFIDENCE) -> float:
    """One-sided upper bound on a rate (Clopper and Pearson 1934); 1 where there are no cases.

    Examples
    --------
    >>> round(upper_bound(0, 300), 4)
    0.0099
    """
    if cases == 0 or wrong >= cases:
        return 1.0
    return float(stats.beta.ppf(confidence, wrong + 1, cases - wrong))


def resampled_upper_bound(wrong: Sequence[int], cases: Sequence[int], confidence: float = CONFIDENCE) -> float:
    """Upper bound on a pooled rate whose cases hang together by sheet.

    Sheets are drawn anew with replacement; the bound is the larger of the plain one and the ``confidence`` quantile
    of the pooled rate over the draws.

    Parameters
    ----------
    wrong, cases : sequence of int
        One entry a sheet.
    """
    counts = np.column_stack([wrong, cases]).astype(np.int64).reshape(-1, 2)
    plain = upper_bound(int(counts[:, 0].sum()), int(counts[:, 1].sum()), confidence)
    if len(counts) < 2 or counts[:, 1].sum() == 0:
        return plain
    rng = np.random.default_rng(SEED)
    draws = counts[rng.integers(len(counts), size=(RESAMPLES, len(counts)))].sum(axis=1)
    rates = draws[:, 0] / np.maximum(draws[:, 1], 1)
    return max(plain, float(np.quantile(rates, confidence)))
