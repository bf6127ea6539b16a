"""From paper to picture: whole exposures, clean, aged and harsh.

The ink is laid straight onto the picture's pixels through one homography, so nothing is ever resampled and the truth
stays exact; every harm changes grey values only.

Glossary
--------
tone
    Paper and ink as they look: two colours.
"""

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from samples.bends import Camera, Eye, bent
from samples.geometry import MM_PER_INCH, QUARTERS, Geometry, eye_over, photograph, pixels_per_mm, scan
from samples.harms import blurred, dropout, field, folds, paper_mask, scratches, show_through, specks, stains
from samples.parts import Rng, pick
from samples.raster import ink_coverage
from samples.truth import Drawing, Exposure

FloatArray = NDArray[np.float64]
Plane = NDArray[np.float32]
Picture = NDArray[np.uint8]

LARGE_SHEET_MM = 350.0  # from A3 on, coarser scans keep pictures small


@dataclass(frozen=True)
class Tone:
    """Colours (red, green, blue) of bare paper, ink, stains and of the table beyond the sheet."""

    paper: tuple[float, float, float]
    ink: tuple[float, float, float]
    stain: tuple[float, float, float]
    polarity: str = "dark_on_light"


WHITE_PRINT = Tone((246, 245, 242), (28, 28, 32), (214, 200, 170))
SEPIA = Tone((226, 205, 166), (74, 50, 34), (188, 158, 110))
DYE_LINE = Tone((232, 226, 224), (92, 60, 122), (206, 188, 160))
PENCIL = Tone((238, 236, 228), (96, 96, 100), (210, 196, 168))
BLUE_PRINT = Tone((38, 70, 128), (214, 226, 240), (70, 96, 140), "light_on_dark")
TONES = (WHITE_PRINT, WHITE_PRINT, SEPIA, SEPIA, DYE_LINE, PENCIL, BLUE_PRINT, BLUE_PRINT)


def coloured(tone: Tone, ink: Plane, stain: Plane, brightness: Plane) -> Plane:
    """Mix the colours: stain under ink, both under the light. Shape (H, W, 3), 0 to 255."""
    paper, pen, blot = (np.array(c, dtype=np.float32) for c in (tone.paper, tone.ink, tone.stain))
    amount = np.clip(stain, 0, 1)[..., None]
    ground = paper * (1 - amount) + blot * amount
    cover = ink[..., None]
    return np.asarray((ground * (1 - cover) + pen * cover) * brightness[..., None], dtype=np.float32)


def noisy(rng: Rng, picture: Plane, sigma: float) -> Picture:
    """Add grain and round to bytes."""
    noise = rng.normal(0, sigma, picture.shape[:2]).astype(np.float32)
    noise = noise[..., None] if picture.ndim == 3 else noise
    levels: Picture = np.clip(np.rint(picture + noise), 0, 255).astype(np.uint8)
    return levels


def grey_of(picture: Plane) -> Plane:
    """Luminance (ITU-R BT.601 weights)."""
    return np.asarray(picture @ np.array([0.299, 0.587, 0.114], dtype=np.float32), dtype=np.float32)


@dataclass(frozen=True)
class Scan:
    """A finished picture with its exposure, and the format it is to be kept in."""

    picture: Picture
    exposure: Exposure
    suffix: str
    quality: int = 90


def _stated_dpi(rng: Rng, dpi: float) -> float | None:
    """Mostly the truth; some scans state nothing, a few state nonsense."""
    draw = rng.random()
    if draw < 0.75:
        return dpi
    return None if draw < 0.9 else float(pick(rng, (72.0, 96.0, 600.0)))


@dataclass(frozen=True)
class Bending:
    """A bend that is asked for, "curl" or "fold", and the random stream that its size comes from."""

    kind: str
    rng: Rng

    def of(self, matrix: FloatArray, paper: tuple[float, float], eye: Eye) -> Camera:
        """What a camera sees of the sheet bent so."""
        return bent(matrix, paper, eye, self.kind, self.rng)


def _through(matrix: FloatArray, paper: tuple[float, float], bending: Bending | None, eye: Eye | None = None) -> Camera:
    return matrix if bending is None else bending.of(matrix, paper, eye or eye_over(paper))


def expose_clean(drawing: Drawing, rng: Rng, bending: Bending | None = None) -> Scan:
    """A good scan: nearly straight, mild blur and noise."""
    large = drawing.paper_mm[0] > LARGE_SHEET_MM
    dpi = float(pick(rng, (200, 200, 300) if large else (200, 300, 300, 400)))
    skew = round(float(rng.uniform(-1, 1)), 4)
    matrix, size = scan(drawing.paper_mm, Geometry(dpi, skew, pad_px=round(0.1 * dpi)))
    to_source = _through(matrix, drawing.paper_mm, bending)
    ink = cv2.GaussianBlur(ink_coverage(drawing, to_source, size), (0, 0), float(rng.uniform(0.2, 0.6)))
    picture = noisy(rng, 245 - ink * float(rng.uniform(195, 235)), float(rng.uniform(1, 4)))
    exposure = Exposure(to_source, size, skew, 0, "dark_on_light", (0.0, 0.0), dpi, _stated_dpi(rng, dpi))
    return Scan(picture, exposure, ".png")


def worn_ink(drawing: Drawing, to_source: Camera, size: tuple[int, int], rng: Rng, harm: float) -> Plane:
    """Ink after bleeding or fading; ``harm`` is 1 for aged, more for harsh."""
    k = pixels_per_mm(to_source)
    spread = float(rng.uniform(-0.06, 0.14))
    ink = ink_coverage(drawing, to_source, size, spread)
    ink = blurred(ink, float(rng.uniform(0.03, 0.075)) * k * harm)
    if rng.random() < 0.6:
        ink = dropout(rng, ink, k, min(0.85, float(rng.uniform(0.2, 0.5)) * harm))
    return np.maximum(ink, specks(rng, ink.shape, k, float(rng.uniform(0.05, 0.5)) * harm))


def aged_paper(drawing: Drawing, to_source: Camera, ink: Plane, rng: Rng, tone: Tone, harm: float) -> Plane:
    """The sheet in its colours: stains, folds, show-through, uneven light. Shape (H, W, 3), 0 to 255."""
    k = pixels_per_mm(to_source)
    if rng.random() < 0.35:
        ink = np.maximum(ink, show_through(rng, ink))
    stain = 0.10 * harm * (1 + field(rng, ink.shape, 14))
    if rng.random() < 0.6:
        stain = stain + float(rng.uniform(0.3, 0.8)) * harm * stains(rng, ink.shape, k)
    light = 1 - float(rng.uniform(0.03, 0.14)) * harm * (1 + field(rng, ink.shape, 2))
    if rng.random() < 0.55:
        crease = folds(rng, to_source, drawing.paper_mm, ink.shape)
        light = light * (1 + 0.12 * crease)
        ink = ink * (1 - 0.5 * np.clip(crease, 0, 1))
    return coloured(tone, ink.astype(np.float32), stain.astype(np.float32), light.astype(np.float32))


def expose_aged(drawing: Drawing, rng: Rng, bending: Bending | None = None) -> Scan:
    """An old sheet on a scanner: turned, shrunk, stained; grey, colour, one-bit or JPEG."""
    large = drawing.paper_mm[0] > LARGE_SHEET_MM
    dpi = float(pick(rng, (200, 200, 300) if large else (200, 300, 300, 400)))
    skew = round(float(rng.uniform(-4, 4)), 4)
    orientation = int(pick(rng, QUARTERS)) if rng.random() < 0.35 else 0
    shrink = (round(float(rng.uniform(-0.3, 1.2)), 4), round(float(rng.uniform(-0.3, 1.2)), 4))
    geometry = Geometry(dpi, skew, orientation, shrink, round(float(rng.uniform(0.1, 0.6)) * dpi))
    matrix, size = scan(drawing.paper_mm, geometry)
    to_source = _through(matrix, drawing.paper_mm, bending)
    tone = pick(rng, TONES)
    ink = worn_ink(drawing, to_source, size, rng, 1.0)
    picture = aged_paper(drawing, to_source, ink, rng, tone, 1.0)
    lid = np.full(3, float(pick(rng, (250.0, 250.0, 40.0))), dtype=np.float32)
    mask = paper_mask(to_source, drawing.paper_mm, ink.shape)[..., None]
    picture = np.asarray(picture * mask + lid * (1 - mask), dtype=np.float32)
    exposure = Exposure(to_source, size, skew, orientation, tone.polarity, shrink, dpi, _stated_dpi(rng, dpi))
    return _kept(picture, exposure, rng)


def _kept(picture: Plane, exposure: Exposure, rng: Rng) -> Scan:
    """Choose how the archive kept the picture: one-bit G4, JPEG, grey or colour PNG."""
    draw, sigma = rng.random(), float(rng.uniform(1.5, 5))
    if draw < 0.22 and exposure.polarity == "dark_on_light":
        grey = noisy(rng, grey_of(picture), sigma)
        block = int(exposure.dpi_true / 6) | 1
        bits = cv2.adaptiveThreshold(grey, 255, cv2.ADAPTIVE_THRESH_MEAN_C, cv2.THRESH_BINARY, block, 22)
        return Scan(np.asarray(bits, dtype=np.uint8), exposure, ".tif")
    if draw < 0.55:
        return Scan(noisy(rng, picture, sigma), exposure, ".jpg", int(rng.integers(45, 88)))
    if draw < 0.85:
        return Scan(noisy(rng, grey_of(picture), sigma), exposure, ".png")
    return Scan(noisy(rng, picture, sigma), exposure, ".png")


def expose_harsh(drawing: Drawing, rng: Rng, bending: Bending | None = None) -> Scan:
    """A bad picture of a bad sheet: photographed on a dark table, or a coarse scan of a ruin; 200 dpi."""
    dpi, skew = 200.0, round(float(rng.uniform(-4, 4)), 4)
    shrink, tone, tilts = (0.0, 0.0), pick(rng, TONES), (0.0, 0.0, 0.0)
    photo = bool(rng.random() < 0.7)
    if photo:
        tilts = (float(rng.uniform(-12, 12)), float(rng.uniform(-12, 12)), skew)
        matrix, size = photograph(drawing.paper_mm, dpi, tilts, float(rng.uniform(0.03, 0.1)))
    else:
        shrink = (round(float(rng.uniform(-0.3, 1.2)), 4), round(float(rng.uniform(-0.3, 1.2)), 4))
        matrix, size = scan(drawing.paper_mm, Geometry(dpi, skew, 0, shrink, round(0.3 * dpi)))
    to_source = _through(matrix, drawing.paper_mm, bending, eye_over(drawing.paper_mm, tilts) if photo else None)
    ink = worn_ink(drawing, to_source, size, rng, 1.5)
    k = dpi / MM_PER_INCH
    ink = scratches(rng, ink, k)
    picture = aged_paper(drawing, to_source, ink, rng, tone, 1.6)
    mask = paper_mask(to_source, drawing.paper_mm, ink.shape)[..., None]
    grain = 1 + 0.3 * field(rng, ink.shape, 40)[..., None]
    table = np.array([52.0, 40.0, 32.0], dtype=np.float32) * grain
    picture = np.asarray(picture * mask + table * (1 - mask), dtype=np.float32)
    sigma = float(rng.uniform(3, 8))
    stated = _stated_dpi(rng, dpi) if not photo else float(pick(rng, (72.0, 300.0))) if rng.random() < 0.6 else None
    exposure = Exposure(to_source, size, skew, 0, tone.polarity, shrink, dpi, stated, photo)
    return Scan(noisy(rng, picture, sigma), exposure, ".jpg", int(rng.integers(50, 85)))


EXPOSE: dict[str, Callable[..., Scan]] = {
    "clean": expose_clean,
    "aged": expose_aged,
    "harsh": expose_harsh,
}
