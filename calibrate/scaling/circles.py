"""What the drawn circles of a sheet say of across against up: a witness of the scanner's feed, before a figure is read.

A circle comes out as wide as it is high on a true scan. Paper, a scanner off its rate and a proportion not quite known
flatten all circles of a sheet alike. A drawn ellipse, or a view that shows its circles tilted, does so to the circles
of one place; so what more than half of the places say is believed, and one place alone is told as such.

Glossary
--------
place
    What a circle holds within it: circles whose middles lie within a wider one are of one view with it.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from calibrate.files.resolution import pixel_stretch
from calibrate.scaling.ring_fit import Ring
from calibrate.scaling.rings import find_rings
from calibrate.scaling.stretching import LARGEST_USUAL, OUT_OF_ROUND_PX, ROUND_STD
from calibrate.sheet import CirclesSay, FloatArray, LevelSheet

SURE_STDS = 3.0
ALIKE_STDS, ALIKE = 4.0, 0.02
"""Places say the same to so many of their standard errors, or to this: those of a printed plate differed by it."""
FEWEST_PLACES = 2
"""From so many places on that agree, nothing else that a drawing shows flattens circles so."""
NORMAL_95 = 1.96
STRETCHED = (
    "Circles come out {percent:.1f} % {way} (standard error {std:.2f} %), more than paper shrinks unevenly: {cause}."
    "{lone} The file's scale is not corrected for it; that from a known length is."
)
ONE_PLACE = " All stand in one view, and one that shows them tilted would look the same."
BY_SCANNER = "the scanner's feed may be off"
BY_CAMERA = "the photograph's proportion is off by as much"


def with_circles(sheet: LevelSheet) -> LevelSheet:
    """Look for circles on a sheet, and say on it what they tell.

    Parameters
    ----------
    sheet : LevelSheet

    Returns
    -------
    LevelSheet
        As it was where there is no circle, or where it bends and nobody knows how.
    """
    if sheet.bend is not None and not sheet.bend.corrected:
        return sheet
    said = told_by(find_rings(sheet))
    if said is None:
        return sheet
    said = replace(said, stretch=said.stretch + pixel_stretch(sheet.resolution)) if said.agree else said
    return replace(sheet, circles=said, warnings=(*sheet.warnings, *_warning(said, photographed=sheet.rectified)))


def told_by(rings: Sequence[Ring]) -> CirclesSay | None:
    """Weigh what rings say of the stretch, place by place.

    Parameters
    ----------
    rings : sequence of Ring

    Returns
    -------
    CirclesSay or None
        None without a ring. Where no more than half of the places agree, they say nothing (``agree`` is False).

    Examples
    --------
    >>> alike = Ring(100, 100, 50, 0.03, 1e-4), Ring(400, 100, 20, 0.0302, 1e-4)
    >>> told = told_by([*alike, Ring(700, 100, 30, -0.04, 1e-4)])
    >>> round(told.stretch, 4), round(told.std, 4), told.places
    (0.03, 0.0019, 2)
    """
    if not rings:
        return None
    places = _by_place(rings)
    stds = [math.hypot(ring.std, ROUND_STD, 2 * OUT_OF_ROUND_PX / ring.radius_px) for ring in rings]
    values = np.array([[ring.stretch for ring in rings], stds])
    said = np.array([_weighed(values[:, group]) for group in places])
    alike = np.abs(said[:, 0] - said[:, :1]) <= np.maximum(ALIKE_STDS * np.hypot(said[:, 1], said[:, 1:]), ALIKE)
    near = alike[int(alike.sum(axis=1).argmax())]
    if 2 * near.sum() <= len(places):
        return CirclesSay(0.0, float("inf"), len(rings), len(places), agree=False)
    value, std = _weighed(said[near].T)
    circles = sum(len(group) for group, kept in zip(places, near, strict=True) if kept)
    return CirclesSay(value, std, circles, int(near.sum()), agree=True)


def circles_words(said: CirclesSay) -> str:
    """What the circles say, in one line.

    Examples
    --------
    >>> circles_words(CirclesSay(0.0301, 0.0004, 5, 2, agree=True))
    'circles: 3.06 % wider than high, +- 0.08 % (95 %); 5 circles at 2 places'
    """
    counted = f"{_count(said.circles, 'circle')} at {_count(said.places, 'place')}"
    if not said.agree:
        return f"circles: {counted}, flattened unlike one another; they say nothing of across against up"
    percent, way = _percent(said)
    return f"circles: {percent:.2f} % {way}, +- {100 * NORMAL_95 * said.std:.2f} % (95 %); {counted}"


def circles_record(said: CirclesSay | None) -> dict[str, object] | None:
    """What the circles say in plain values; None where there are none."""
    if said is None:
        return None
    return {
        "wider_than_high_percent": round(100 * float(np.expm1(said.stretch)), 4) if said.agree else None,
        "std_percent": round(100 * said.std, 4) if said.agree else None,
        "circles": said.circles,
        "places": said.places,
    }


def _by_place(rings: Sequence[Ring]) -> list[list[int]]:
    """Numbers of the rings of each place, the widest ring's first."""
    found: list[list[int]] = []
    for number in sorted(range(len(rings)), key=lambda k: -rings[k].radius_px):
        ring = rings[number]
        for group in found:
            widest = rings[group[0]]
            if np.hypot(ring.x_px - widest.x_px, ring.y_px - widest.y_px) < widest.radius_px:
                group.append(number)
                break
        else:
            found.append([number])
    return found


def _weighed(values: FloatArray) -> tuple[float, float]:
    """Mean of values with standard errors, shape (2, N), and its own.

    Notes
    -----
    Where they scatter more than their errors explain, all errors are that much larger (Birge 1932, from memory). That
    the errors are as stated counts as one value's scatter, since two values tell little of it.
    """
    value, weight = values[0], values[1] ** -2.0
    mean = float(np.average(value, weights=weight))
    scatter = (1 + float(weight @ (value - mean) ** 2)) / len(value)
    return mean, float(np.sqrt(max(1.0, scatter) / weight.sum()))


def _percent(said: CirclesSay) -> tuple[float, str]:
    return 100 * float(np.expm1(abs(said.stretch))), "wider than high" if said.stretch > 0 else "higher than wide"


def _warning(said: CirclesSay, *, photographed: bool) -> tuple[str, ...]:
    """Say that across and up differ by more than paper explains, or nothing."""
    if not said.agree or np.expm1(abs(said.stretch)) - SURE_STDS * said.std <= LARGEST_USUAL:
        return ()
    percent, way = _percent(said)
    cause = BY_CAMERA if photographed else BY_SCANNER
    lone = "" if said.places >= FEWEST_PLACES else ONE_PLACE
    return (STRETCHED.format(percent=percent, way=way, std=100 * said.std, cause=cause, lone=lone),)


def _count(number: int, what: str) -> str:
    return f"{number} {what}" + ("" if number == 1 else "s")
