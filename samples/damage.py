"""One harm at a time on a finished scan: what lies on, in or beside the paper and was never drawn.

Each is laid on a picture that is otherwise sound, so that the strokes it leaves can be counted. Sizes of tape, holes
and book gutters: common practice, no source, but for the 6 mm holes of ISO 838 (from memory).

Glossary
--------
cover
    How far a pixel is from bare paper to full ink, 0 to 1.
gutter
    The dark, speckled band beside a book's page, where it bends into the binding and its neighbour's edge shows.
"""

from collections.abc import Callable
from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from samples.aging import Scan
from samples.bends import Bent
from samples.geometry import MM_PER_INCH
from samples.harms import folds, stains
from samples.parts import Rng
from samples.raster import ink_coverage
from samples.truth import Drawing, LineMark, project

Plane = NDArray[np.float32]
Harm = Callable[[Rng, Drawing, Scan], Scan]
GUTTER_SIDES = ("left", "right")


def _float(scan: Scan) -> Plane:
    return scan.picture.astype(np.float32)


def _planes(plane: Plane, picture: Plane) -> Plane:
    """A plane that multiplies a grey or a colour picture."""
    return plane[..., None] if picture.ndim == 3 else plane


def _kept(scan: Scan, picture: NDArray[np.floating]) -> Scan:
    return replace(scan, picture=np.clip(np.rint(picture), 0, 255).astype(np.uint8))


def _k(scan: Scan) -> float:
    return scan.exposure.dpi_true / MM_PER_INCH


def _tones(picture: Plane, polarity: str) -> tuple[Plane, Plane]:
    """Colours of paper and of full ink, of shape () or (3,)."""
    flat = picture.reshape(-1, picture.shape[2] if picture.ndim == 3 else 1)[::7]
    light = flat.mean(axis=1)
    ends = np.percentile(light, (0.2, 99.8))
    ink = flat[light <= ends[0]] if polarity == "dark_on_light" else flat[light >= ends[1]]
    return np.median(flat, axis=0).astype(np.float32), np.median(ink, axis=0).astype(np.float32)


def show_through(rng: Rng, drawing: Drawing, scan: Scan) -> Scan:
    """The drawing on the back: mirrored, blurred, a tenth to a third as dark."""
    picture = _float(scan)
    paper, ink = _tones(picture, scan.exposure.polarity)
    grey = picture.mean(axis=2) if picture.ndim == 3 else picture
    cover = np.clip((grey - paper.mean()) / (ink.mean() - paper.mean()), 0, 1)
    back = cv2.GaussianBlur(cv2.flip(cover, 1), (0, 0), float(rng.uniform(0.1, 0.25)) * _k(scan))
    share = _planes(np.asarray(back * float(rng.uniform(0.1, 0.33)), np.float32), picture)
    return _kept(scan, picture + share * (ink - picture) * (1 - _planes(cover.astype(np.float32), picture)))


def fold(rng: Rng, drawing: Drawing, scan: Scan) -> Scan:
    """Creases across the sheet: a pale line where the ink cracked, shade beside it, dirt in it."""
    picture = _float(scan)
    crease = folds(rng, scan.exposure.source_from_paper, drawing.paper_mm, picture.shape[:2])
    paper, _ = _tones(picture, scan.exposure.polarity)
    pale = _planes(np.clip(crease, 0, 1), picture)
    dirt = _planes(np.clip(crease - 0.25, 0, 1), picture) * float(rng.choice((0.0, 0.5)))
    worn = (picture + 0.5 * pale * (paper - picture)) * (1 - dirt)
    return _kept(scan, worn * (1 + float(rng.uniform(0.1, 0.3)) * _planes(crease, picture)))


def stain(rng: Rng, drawing: Drawing, scan: Scan) -> Scan:
    """Rings and blotches of coffee and oil that take up to two fifths of the light."""
    picture = _float(scan)
    blots = np.clip(stains(rng, picture.shape[:2], _k(scan)), 0, 1)
    taken = np.array([0.7, 0.85, 1.0], np.float32) if picture.ndim == 3 else np.float32(0.8)
    return _kept(scan, picture * (1 - float(rng.uniform(0.2, 0.4)) * _planes(blots, picture) * taken))


def tape(rng: Rng, drawing: Drawing, scan: Scan) -> Scan:
    """Yellowed strips of adhesive tape with dark dirty edges, straight or aslant."""
    picture, k = _float(scan), _k(scan)
    height, width = picture.shape[:2]
    for _ in range(int(rng.integers(2, 5))):
        middle = (float(rng.uniform(0, width)), float(rng.uniform(0, height)))
        size = (float(rng.uniform(30, 110)) * k, float(rng.uniform(12, 25)) * k)
        turn = float(rng.choice((0, 90))) + float(rng.normal(0, 8))
        corners = cv2.boxPoints((middle, size, turn)).astype(np.int32)
        strip, rim = np.zeros((height, width), np.uint8), np.zeros((height, width), np.uint8)
        cv2.fillPoly(strip, [corners], 255, cv2.LINE_AA)
        cv2.polylines(rim, [corners], True, 255, max(1, round(0.3 * k)), cv2.LINE_AA)
        amber = np.array([0.08, 0.18, 0.42], np.float32) if picture.ndim == 3 else np.float32(0.18)
        body = _planes(np.asarray(strip / np.float32(255), np.float32), picture) * amber
        soft = cv2.GaussianBlur(rim / np.float32(255), (0, 0), 0.15 * k)
        dirt = _planes(np.asarray(soft, np.float32), picture) * float(rng.uniform(0.1, 0.35))
        picture = picture * (1 - body) * (1 - dirt)
    return _kept(scan, picture)


def holes(rng: Rng, drawing: Drawing, scan: Scan) -> Scan:
    """Punched holes near an edge, through which the scanner's lid shows, some torn open to the edge."""
    picture, k = _float(scan), _k(scan)
    to_source, paper = scan.exposure.source_from_paper, drawing.paper_mm
    lid = float(rng.choice((20.0, 60.0, 252.0)))
    count, inset, radius = int(rng.integers(2, 5)), float(rng.uniform(5, 7)), float(rng.choice((3.0, 3.0, 4.0)))
    upright = rng.random() < 0.6
    for share in np.linspace(0.2, 0.8, count):
        place = (inset, share * paper[1]) if upright else (share * paper[0], paper[1] - inset)
        x, y = project(to_source, np.array(place))[0]
        centre = (round(8 * x), round(8 * y))
        disc, rim = np.zeros(picture.shape[:2], np.uint8), np.zeros(picture.shape[:2], np.uint8)
        cv2.circle(disc, centre, round(8 * radius * k), 255, -1, cv2.LINE_AA, 3)
        cv2.ellipse(rim, (centre[0] >> 3, centre[1] >> 3), (round(radius * k),) * 2, 0, 200, 330, 255, 2, cv2.LINE_AA)
        inside = _planes(np.asarray(disc / np.float32(255), np.float32), picture)
        shadow = _planes(np.asarray(rim / np.float32(255), np.float32), picture)
        picture = (picture * (1 - inside) + lid * inside) * (1 - 0.6 * shadow)
    return _kept(scan, picture)


def gutter(rng: Rng, drawing: Drawing, scan: Scan) -> Scan:
    """A book's gutter beside the sheet: a dark, ragged, speckled band with stitch holes and the next leaf's edge."""
    side, band = str(rng.choice(GUTTER_SIDES)), round(float(rng.uniform(9, 22)) * _k(scan))
    padding = [(0, 0), (band, 0) if side == "left" else (0, band)] + [(0, 0)] * (scan.picture.ndim - 2)
    picture = np.pad(_float(scan), padding, mode="edge")
    rows, columns = picture.shape[:2]
    column = np.arange(columns, dtype=np.float32)
    from_page = band - 1 - column if side == "left" else column - (columns - band)
    shade = _gutter_shade(rng, from_page / _k(scan), rows, band / _k(scan))
    picture = picture * (1 - _planes(shade, picture))
    shift = np.array([[1.0, 0, padding[1][0]], [0, 1, 0], [0, 0, 1]])
    seen = scan.exposure.source_from_paper
    moved = replace(seen, matrix=shift @ seen.matrix) if isinstance(seen, Bent) else shift @ seen
    exposure = replace(scan.exposure, source_from_paper=moved, size_px=(columns, rows))
    return replace(_kept(scan, picture), exposure=exposure)


def _gutter_shade(rng: Rng, from_page_mm: Plane, rows: int, band_mm: float) -> Plane:
    """Light taken by the gutter, by the distance in mm beyond the page's edge; ragged, and speckled far out."""
    shape = (rows, len(from_page_mm))
    near = np.flatnonzero(from_page_mm > -6.0)
    first, last = int(near[0]), int(near[-1]) + 1
    depth = np.broadcast_to(from_page_mm[first:last], (rows, last - first)).astype(np.float32)
    wander = cv2.resize(rng.normal(0, 0.9, (14, 1)).astype(np.float32), (1, rows), interpolation=cv2.INTER_CUBIC)
    ragged = cv2.GaussianBlur(rng.normal(0, 1, depth.shape).astype(np.float32), (0, 0), 2.0)
    depth = depth + wander + ragged * 2.0
    core = np.clip(1.5 * depth, 0, 1) * np.clip(2.4 - 2.0 * depth / band_mm, 0.15, 1)
    speckle = cv2.GaussianBlur(rng.uniform(0, 1, depth.shape).astype(np.float32), (0, 0), 0.7)
    speckle = (speckle - speckle.min()) / np.ptp(speckle)
    dark = (speckle < core).astype(np.float32) * 0.95
    for at in rng.uniform(0.05, 0.95, 4):  # stitch holes
        cv2.circle(dark, (int(np.argmin(np.abs(depth[0]))), int(at * rows)), int(rng.integers(4, 9)), 0.95, -1)
    shade = np.zeros(shape, np.float32)
    shade[:, first:last] = dark
    return shade


SQUARES_MM = (2.0, 2.54, 3.175, 5.0, 6.35)
"""Sides of the squares that squared paper is ruled in: round millimetres and inches (common practice, no source)."""


def squares(rng: Rng, drawing: Drawing, scan: Scan) -> Scan:
    """Squared paper: the drawing lies on fine ruled squares, a tenth to two fifths as dark, some ruled bolder."""
    picture = _float(scan)
    side_mm, bold_every = float(rng.choice(SQUARES_MM)), int(rng.choice((0, 0, 5, 10)))
    start = rng.uniform(0, side_mm, 2)
    width, height = drawing.paper_mm
    ruled = [
        [LineMark((x, 0.0), (x, height), "border", "solid", 0.13, None) for x in np.arange(start[0], width, side_mm)],
        [LineMark((0.0, y), (width, y), "border", "solid", 0.13, None) for y in np.arange(start[1], height, side_mm)],
    ]
    bold = [line for lines in ruled for line in lines[3::bold_every]] if bold_every else []
    paper, ink = _tones(picture, scan.exposure.polarity)
    cover = np.zeros(picture.shape[:2], np.float32)
    for lines, widened_mm in (([*ruled[0], *ruled[1]], 0.0), *([(bold, 0.12)] if bold else [])):
        page = replace(drawing, lines=tuple(lines), arcs=(), heads=(), texts=(), dimensions=())
        seen = ink_coverage(page, scan.exposure.source_from_paper, scan.exposure.size_px, widened_mm)
        cover = np.maximum(cover, cv2.GaussianBlur(seen, (0, 0), 0.6))
    share = _planes(np.asarray(cover * float(rng.uniform(0.1, 0.4)), np.float32), picture)
    bare = np.clip((picture - ink) / (paper - ink), 0, 1)
    return _kept(scan, picture + share * bare * (ink - picture))


HARMS: dict[str, Harm] = {
    "show_through": show_through,
    "fold": fold,
    "stain": stain,
    "tape": tape,
    "holes": holes,
    "gutter": gutter,
    "squares": squares,
}


def damaged(harm: str, seed: int, drawing: Drawing, scan: Scan) -> Scan:
    """Lay one of `HARMS` on a scan; the same for the same seed."""
    return HARMS[harm](np.random.default_rng([seed, *harm.encode()]), drawing, scan)
