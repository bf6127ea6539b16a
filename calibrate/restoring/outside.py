"""What lies beyond the paper: the table under a photographed sheet, the dark of an open scanner lid."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.restoring.gutter import find_gutter
from calibrate.restoring.polarity import counts_of_levels, median_level
from calibrate.several import Box, box_of
from calibrate.sheet import FloatArray, GreyImage, InkImage

LOOK_PX = 800
"""Longer side of the reduced picture in which the sheet is looked for."""
CLOSING_PX = 15
"""Ink narrower than this, in the reduced picture, is taken for paper."""
LEAST_STEP = 40
"""Grey levels between paper and what lies beyond it, at least."""
PAPER_STEP = 3
"""Every third row and column of the middle tells the paper's colour."""
COLOUR_GAIN = 3.0
"""Differences of hue are smaller than those of lightness."""
LEAST_BORDER_SHARE = 0.5
"""A dark band must fill this much of a side of the picture to be taken for something beyond the paper."""
QUAD_AGREEMENT = 0.97
"""Area that a four-cornered sheet and the paper found must share."""
FARTHEST_CORNER = 2.0
"""In lengths of the picture; sides that cross beyond it are those of no sheet."""
LEAST_SHEET_SHARE, MOST_SHEET_SHARE = 0.2, 0.985
LEAST_OF_SEVERAL, RECTANGULAR = 0.1, 0.9
"""A piece of paper counts as a sheet from this part of the picture on, and where it fills its turned box so far."""
MARGIN_PX = 3
"""Reduced pixels by which the paper is drawn in, so that its edge is not taken for a line."""


@dataclass(frozen=True)
class Outside:
    """Mask of what is not on the sheet, full size, or None; corners of the sheet clockwise from top left, or None.

    ``sheets_px`` holds a box for each of several sheets that lie apart on a ground of another tone or colour.
    """

    mask: InkImage | None
    sheet_quad_px: FloatArray | None
    sheets_px: tuple[Box, ...] = ()


def find_outside(pixels: NDArray[np.uint8], grey: GreyImage) -> Outside:
    """Find what lies beyond the paper.

    Parameters
    ----------
    pixels : ndarray, uint8, shape (H, W) or (H, W, 3)
    grey : ndarray, uint8, shape (H, W)
        Dark ink on light paper.
    """
    scale = min(1.0, LOOK_PX / max(grey.shape))
    reduced = _scaled(grey, scale)
    small = _without_ink(reduced)
    darker = _beyond(np.subtract(np.uint8(255), small), LEAST_STEP)
    for beyond in (darker, _beyond(small, LEAST_STEP), _other_colour(pixels, reduced, scale)):
        sheets = () if beyond is None else _sheets(~beyond, scale)
        if beyond is not None and len(sheets) > 1:
            return Outside(_dark_bands(beyond, grey.shape), None, sheets)
        quad = None if beyond is None else _quad(~beyond)
        if quad is not None:
            full = (quad + 0.5) / scale - 0.5
            return Outside(_outside_quad(full, grey.shape, MARGIN_PX / scale), full)
    bands = [band for band in (darker, find_gutter(reduced)) if band is not None]
    return Outside(_dark_bands(np.logical_or.reduce(bands), grey.shape) if bands else None, None)


def _scaled(pixels: NDArray[np.uint8], scale: float) -> NDArray[np.uint8]:
    """Reduce a picture, by halves first and then between its pixels, for both of which OpenCV has fast code."""
    while scale <= 0.5:
        height, width = (side // 2 for side in pixels.shape[:2])
        halved = cv2.resize(pixels[: 2 * height, : 2 * width], (width, height), interpolation=cv2.INTER_AREA)
        pixels, scale = np.asarray(halved, np.uint8), 2 * scale
    return np.asarray(cv2.resize(pixels, None, fx=scale, fy=scale, interpolation=cv2.INTER_LINEAR), np.uint8)


def _without_ink(small: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Close thin dark ink; what touches the picture's edge is continued beyond it."""
    kernel = np.ones((CLOSING_PX, CLOSING_PX), np.uint8)
    pad = CLOSING_PX
    framed = cv2.copyMakeBorder(small, pad, pad, pad, pad, cv2.BORDER_REPLICATE)
    return np.ascontiguousarray(cv2.morphologyEx(framed, cv2.MORPH_CLOSE, kernel)[pad:-pad, pad:-pad], np.uint8)


def _dark_bands(darker: InkImage, shape: tuple[int, ...]) -> InkImage:
    kernel = np.ones((2 * MARGIN_PX + 1, 2 * MARGIN_PX + 1), np.uint8)
    wider = cv2.dilate(darker.view(np.uint8), kernel)
    return np.asarray(cv2.resize(wider, shape[1::-1], interpolation=cv2.INTER_NEAREST), np.bool_)


def _other_colour(pixels: NDArray[np.uint8], small_grey: GreyImage, scale: float) -> InkImage | None:
    """Mask of what differs from the paper in hue, whatever the light; the grey, dark on light, is reduced already."""
    if pixels.ndim == 2:
        return None
    small = _scaled(pixels, scale)
    # The ink is taken out in the same sense as in the grey: light ink is closed on the negative.
    light_ink = float(np.corrcoef(small_grey[::5, ::5].ravel(), small[::5, ::5].mean(axis=2).ravel())[0, 1]) < 0
    closed = _without_ink(~small if light_ink else small)
    colour = (~closed if light_ink else closed).astype(np.float32)
    height, width = colour.shape[:2]
    inner = colour[height // 4 : -height // 4 : PAPER_STEP, width // 4 : -width // 4 : PAPER_STEP]
    paper = np.median(inner.reshape(-1, 3), axis=0)
    paper /= max(float(np.linalg.norm(paper)), 1.0)
    # What is left of a colour when its part along the paper's is taken out.
    aside = cv2.transform(colour, np.eye(3) - np.outer(paper, paper))
    length = cv2.sqrt(cv2.transform(cv2.multiply(aside, aside), np.ones((1, 3))))
    return _beyond(np.asarray(cv2.convertScaleAbs(length, alpha=COLOUR_GAIN), np.uint8), LEAST_STEP)


def _beyond(strangeness: GreyImage, least_step: float) -> InkImage | None:
    """Mask of regions of high strangeness that fill much of a side of the picture, or None."""
    threshold, strange = cv2.threshold(strangeness, 0, 1, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    usual, other = np.split(counts_of_levels(strangeness), [int(threshold) + 1])
    if not usual.any() or not other.any():
        return None
    if threshold + 1 + median_level(other) - median_level(usual) < least_step:
        return None
    _, labels = cv2.connectedComponents(np.asarray(strange, np.uint8), connectivity=4)
    sides = (labels[0], labels[-1], labels[:, 0], labels[:, -1])
    chosen = {
        int(label)
        for side in sides
        for label in np.unique(side[side > 0])
        if np.count_nonzero(side == label) >= LEAST_BORDER_SHARE * len(side)
    }
    beyond = np.asarray(np.isin(labels, list(chosen)), np.bool_)
    # Where holes or bare patches are what stands out, the strange part is the paper itself.
    return beyond if chosen and beyond.mean() <= 1 - LEAST_SHEET_SHARE else None


def _sheets(paper: InkImage, scale: float) -> tuple[Box, ...]:
    """Large rectangular pieces of paper."""
    outlines, _ = cv2.findContours(paper.view(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    large = [outline for outline in outlines if cv2.contourArea(outline) >= LEAST_OF_SEVERAL * paper.size]
    return tuple(box_of(outline, scale) for outline in large if _is_rectangular(outline))


def _is_rectangular(outline: cv2.typing.MatLike) -> bool:
    return cv2.contourArea(outline) >= RECTANGULAR * float(np.prod(cv2.minAreaRect(outline)[1]))


def _quad(paper: InkImage) -> FloatArray | None:
    """Four corners of the paper in the reduced picture, clockwise from top left, or None."""
    contours, _ = cv2.findContours(paper.view(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    largest = max(contours, key=cv2.contourArea, default=None)
    if largest is None or len(largest) < 8:
        return None
    hull = np.asarray(cv2.convexHull(largest), np.int32)
    start = _four_cornered(hull)
    if start is None:
        return None
    quad = _fitted_sides(start, largest[:, 0].astype(np.float64))
    if quad is None or np.abs(quad).max() > FARTHEST_CORNER * max(paper.shape):
        return None
    share = cv2.contourArea(quad.astype(np.float32)) / paper.size
    drawn = np.zeros(paper.shape, np.uint8)
    cv2.fillPoly(drawn, [np.round(quad).astype(np.int32)], 1)
    filled = np.zeros(paper.shape, np.uint8)
    cv2.drawContours(filled, [largest], -1, 1, cv2.FILLED)
    agreement = float((drawn & filled).sum()) / max(float((drawn | filled).sum()), 1.0)
    good = agreement >= QUAD_AGREEMENT and LEAST_SHEET_SHARE <= share <= MOST_SHEET_SHARE
    return _from_top_left(quad) if good else None


def _four_cornered(hull: NDArray[np.int32]) -> FloatArray | None:
    length = cv2.arcLength(hull, True)
    for share in np.linspace(0.01, 0.1, 19):
        corners = cv2.approxPolyDP(hull, share * length, True)
        if len(corners) == 4:
            return corners[:, 0].astype(np.float64)
    return None


def _fitted_sides(corners: FloatArray, outline: FloatArray) -> FloatArray | None:
    """Refit each side to the outline points in its middle part; where neighbours meet, or None."""
    sides = [_fitted_side(corners[k], corners[(k + 1) % 4], outline) for k in range(4)]
    crossings = np.array([np.cross(sides[k - 1], sides[k]) for k in range(4)])
    return crossings[:, :2] / crossings[:, 2:] if crossings[:, 2].all() else None


def _fitted_side(start: FloatArray, end: FloatArray, outline: FloatArray) -> FloatArray:
    """Line (a, b, c) with a x + b y + c = 0 along one side."""
    along = (end - start) / np.linalg.norm(end - start)
    offset = outline - start
    position = offset @ along / np.linalg.norm(end - start)
    distance = np.abs(offset @ np.array([-along[1], along[0]]))
    near = outline[(position > 0.05) & (position < 0.95) & (distance < 0.02 * np.linalg.norm(end - start) + 2)]
    if len(near) < 8:
        near = np.array([start, end])
    vx, vy, x0, y0 = cv2.fitLine(near.astype(np.float32), cv2.DIST_HUBER, 0, 0.01, 0.01).ravel().astype(np.float64)
    return np.array([-vy, vx, vy * x0 - vx * y0])


def _from_top_left(quad: FloatArray) -> FloatArray:
    """Order corners clockwise as seen, starting with the one nearest the top left."""
    centre = quad.mean(axis=0)
    angle = np.arctan2(quad[:, 1] - centre[1], quad[:, 0] - centre[0])
    ordered = quad[np.argsort(angle)]
    return np.roll(ordered, -int(np.argmin(ordered.sum(axis=1))), axis=0)


def _outside_quad(quad: FloatArray, shape: tuple[int, ...], margin_px: float) -> InkImage:
    inside = np.zeros(shape[:2], np.uint8)
    cv2.fillPoly(inside, [np.round(quad).astype(np.int32)], 1)
    reach = max(1, round(margin_px))
    framed = cv2.copyMakeBorder(inside, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0)
    kept = cv2.erode(framed, np.ones((2 * reach + 1, 2 * reach + 1), np.uint8))[1:-1, 1:-1]
    return np.asarray(kept == 0, np.bool_)
