"""Flanks fitted as those of a filled head, or as the barbs of an open one.

Glossary
--------
flank
    See `flanks`.
slope
    How much a flank grows per px behind the tip.
"""

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.compiled import compiled
from digitize.strokes.heads.flanks import UNKNOWN

FloatArray = NDArray[np.float64]

LONGEST_MM, SHORTEST_MM = 8.0, 0.9
TIP_REACH_MM = 0.55
TIP_SHARE = 0.2
"""The flanks must run together this near to the candidate, and by this share of the head's length."""
STEEPEST, FLATTEST = 0.55, 0.06
LEAST_TAPER = 0.35
"""The flanks of a head rise over this share of the length that they stand out of their line at least."""


@compiled
def _bridge(h: FloatArray) -> None:
    """Draw straight over the unknown stretches of a flank that has known ones on both sides."""
    last = -1
    for k in range(len(h)):
        if h[k] == UNKNOWN:
            continue
        if last >= 0 and k - last > 1 and h[k] >= 0.0 and h[last] >= 0.0:
            for m in range(last + 1, k):
                h[m] = h[last] + (h[k] - h[last]) * (m - last) / (k - last)
        last = k


@compiled
def _slope_of(s: FloatArray, h: FloatArray) -> tuple[float, float, float]:
    """Straight flank h = slope (s - tip): slope, tip and rms; slope 0 where undetermined. Strays are left out once."""
    keep = np.ones(len(s), np.bool_)
    slope, tip, rms = 0.0, 0.0, np.inf
    for _ in range(2):
        n = np.sum(keep)
        if n < 4:
            return 0.0, 0.0, np.inf
        ms, mh = np.mean(s[keep]), np.mean(h[keep])
        var = np.sum((s[keep] - ms) ** 2)
        if var <= 0.0:
            return 0.0, 0.0, np.inf
        slope = np.sum((s[keep] - ms) * (h[keep] - mh)) / var
        if abs(slope) < 1e-6:
            return 0.0, 0.0, np.inf
        tip = ms - mh / slope
        off = h - slope * (s - tip)
        rms = np.sqrt(np.mean(off[keep] ** 2))
        keep = np.abs(off) <= max(2.0 * rms, 0.5)
    return slope, tip, rms


@compiled
def fit_filled(
    inner: FloatArray, base: float, steps: int, least_rise: float, longest: float
) -> tuple[float, float, float, float, float]:
    """Tip offset, tail, slope, rms and peak of a filled head; slope 0 where there is none.

    Only the first ``steps`` are looked at; the tail is infinite where more of them might show a head.
    """
    h = np.minimum(inner[0, :steps], inner[1, :steps])
    for k in range(steps):
        if h[k] < 0.0:
            h[k] = max(inner[0, k], inner[1, k])
            if h[k] < 0.0 and min(inner[0, k], inner[1, k]) == UNKNOWN:
                h[k] = UNKNOWN
    _bridge(h)
    start = -1
    for k in range(steps - 4):
        # a stroke that crosses at the tip widens the first flanks, less and less
        settled = h[k + 1] >= h[k] - 0.1 and h[k + 2] >= h[k] - 0.1 and h[k + 4] >= h[k] - 0.1
        if 0.0 < h[k] <= 0.6 * 0.5 * k + base + 0.5 and settled:
            start = k
            break
    if start < 0:
        return 0.0, np.inf, 0.0, np.inf, 0.0
    peak, at = 0.0, start
    tail, ended = -1, False
    for k in range(start, steps):
        if h[k] == UNKNOWN:
            break
        ended = True
        if h[k] < 0.0:
            break
        if h[k] > peak:
            if h[k] > 0.65 * 0.5 * k + base + 1.5:
                break
            peak, at = h[k], k
        elif peak > base + least_rise and h[k] < base + 0.4 * (peak - base):
            tail = k
            break
        elif h[k] <= 0.0 or 0.5 * (k - at) > 0.35 * longest:
            break
        ended = False
    if not ended:
        return 0.0, np.inf, 0.0, np.inf, 0.0
    if tail < 0 or peak < base + least_rise or peak < 1.45 * base:
        return 0.0, 0.0, 0.0, np.inf, 0.0
    first = start
    while first < at and h[first] < base + 0.25 * (peak - base):
        first += 1
    # a head rises out of its line where it is as wide as that: of a slim one little is left to see
    if at - first < 3 or at - first < LEAST_TAPER * (peak - base) / peak * (tail - start):
        return 0.0, 0.0, 0.0, np.inf, 0.0
    for k in range(first, at + 1):
        # the narrower side told that there is a head; where it lies, both sides tell
        if min(inner[0, k], inner[1, k]) >= 0.0:
            h[k] = 0.5 * (inner[0, k] + inner[1, k])
    s = 0.5 * np.arange(first, at + 1).astype(np.float64)
    slope, tip, rms = _slope_of(s, h[first : at + 1])
    return tip, 0.5 * tail, slope, rms, peak


@compiled
def fit_open(
    inner: FloatArray, outer: FloatArray, base: float, barb: float, steps: int
) -> tuple[float, float, float, float, float]:
    """Tip offset, tail, slope, rms and width at the tail of an open head; slope 0 where there is none.

    Only the first ``steps`` are looked at; the tail is infinite where more of them might show a head.

    Near the tip barbs and line are one, further back there is paper between them; their outer edges are straight all
    the way and lie half a pen (``barb``) outside the lines that meet at the tip.
    """
    s = np.zeros(steps)
    h = np.zeros(steps)
    n, parted, missing, total = 0, 0, 0, inner.shape[1]
    for k in range(2, steps):
        if min(inner[0, k], inner[1, k], outer[0, k], outer[1, k]) == UNKNOWN:
            continue
        both = outer[0, k] > 0.0 and outer[1, k] > 0.0
        left = outer[0, k] if outer[0, k] > 0.0 else inner[0, k]
        right = outer[1, k] if outer[1, k] > 0.0 else inner[1, k]
        low, high = min(left, right), max(left, right)
        good = low > base + 0.4 and low <= 0.7 * 0.5 * k + base + 1.0 and high - low <= 1.5 + 0.25 * low
        if good and n > 0 and low < h[n - 1] - 0.8:
            good = False
        if good:
            s[n], h[n] = 0.5 * k, low
            n += 1
            missing = 0
            parted += both
        elif n > 0:
            missing += 1
            if missing > 5:
                break
    beyond = int(2.0 * s[n - 1]) + 3 if n > 0 else total
    if (missing <= 5 or beyond + 4 > steps) and steps < total:
        return 0.0, np.inf, 0.0, np.inf, 0.0
    if n < 6 or parted < 3:
        return 0.0, 0.0, 0.0, np.inf, 0.0
    for k in range(beyond, min(beyond + 4, steps)):
        # lines that only cross here go on behind the tail, barbs do not
        if outer[0, k] > 0.0 and outer[1, k] > 0.0 and abs(outer[0, k] - outer[1, k]) <= 1.5 + 0.25 * outer[0, k]:
            return 0.0, 0.0, 0.0, np.inf, 0.0
    if beyond >= total or h[n - 1] > 0.4 * 0.5 * total:
        return 0.0, 0.0, 0.0, np.inf, 0.0
    slope, tip, rms = _slope_of(s[:n], h[:n] - barb)
    return tip, s[n - 1], slope, rms, h[n - 1]


@compiled
def is_of_a_head(mm: float, tip: float, tail: float, slope: float, rms: float, peak: float) -> bool:
    """Whether flanks have a head's slope and length, run together at the candidate, and are straight."""
    length = tail - tip
    return bool(
        FLATTEST <= slope <= STEEPEST
        and SHORTEST_MM * mm <= length <= LONGEST_MM * mm
        and abs(tip) <= TIP_REACH_MM * mm + TIP_SHARE * length
        and rms <= max(0.45, 0.09 * peak)
    )
