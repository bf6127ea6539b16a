"""From paper to picture: where the scanner or camera saw the sheet, and what time had done to it.

The ink is laid straight onto the picture's pixels through one homography, so nothing is ever resampled and the truth
stays exact; every harm below changes grey values only.

Glossary
--------
tone
    Paper and ink as they look: two colours.
field
    A smooth random picture between about -1 and 1, from coarse noise.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from samples.bends import Bent, Camera, Eye, bent, matrix_of
from samples.parts import Rng, pick
from samples.raster import ink_coverage
from samples.truth import Drawing, Exposure, project

FloatArray = NDArray[np.float64]
Plane = NDArray[np.float32]
Picture = NDArray[np.uint8]

MM_PER_INCH = 25.4
LARGE_SHEET_MM = 350.0  # from A3 on, coarser scans keep pictures small
QUARTERS = (0, 90, 180, 270)
LENS = 1.3  # height of a camera over the sheet, as a part of the sheet's longer side: a lens of normal length
OUTLINE_STEPS = 60  # points along each edge of a bent sheet
SOFT = 4  # soft shades are drawn at a quarter of the picture's size


# -- geometry ---------------------------------------------------------------------------------------------------------
def _matrix(a: float, b: float, c: float, d: float, e: float, f: float) -> FloatArray:
    return np.array([[a, b, c], [d, e, f], [0.0, 0.0, 1.0]])


@dataclass(frozen=True)
class Geometry:
    """Turns and scales of one exposure."""

    dpi: float
    skew_deg: float = 0.0
    orientation_deg: int = 0
    shrink_percent: tuple[float, float] = (0.0, 0.0)
    pad_px: int = 0


def _turn(degrees: float) -> FloatArray:
    """Rotation that is counter-clockwise as seen, for x right, y down."""
    turn = np.radians(degrees)
    return _matrix(np.cos(turn), np.sin(turn), 0, -np.sin(turn), np.cos(turn), 0)


def _quarter(orientation_deg: int, width: int, height: int) -> tuple[FloatArray, tuple[int, int]]:
    """Clockwise quarter turns of a whole picture, exact in pixels, and its new size."""
    turns = {
        0: np.eye(3),
        90: _matrix(0, -1, height - 1, 1, 0, 0),
        180: _matrix(-1, 0, width - 1, 0, -1, height - 1),
        270: _matrix(0, 1, 0, -1, 0, width - 1),
    }
    size = (height, width) if orientation_deg in (90, 270) else (width, height)
    return turns[orientation_deg], size


def scan(paper: tuple[float, float], geometry: Geometry) -> tuple[FloatArray, tuple[int, int]]:
    """Homography of a flat-bed scan, and the picture's size.

    The upright picture is turned clockwise by ``orientation_deg``, so that as many degrees counter-clockwise set it
    upright again. ``skew_deg`` is counter-clockwise as seen.
    """
    k = geometry.dpi / MM_PER_INCH
    sx, sy = (k * (1 - s / 100) for s in geometry.shrink_percent)
    width, height = round(paper[0] * sx) + 2 * geometry.pad_px, round(paper[1] * sy) + 2 * geometry.pad_px
    upright = _matrix(sx, 0, -sx * paper[0] / 2, 0, -sy, sy * paper[1] / 2)
    centre = _matrix(1, 0, (width - 1) / 2, 0, 1, (height - 1) / 2)
    quarter, size = _quarter(geometry.orientation_deg, width, height)
    return quarter @ centre @ _turn(geometry.skew_deg) @ upright, size


def _tilted(tilts_deg: tuple[float, float, float]) -> FloatArray:
    ax, ay, roll = np.radians(tilts_deg)
    about_x = np.array([[1, 0, 0], [0, np.cos(ax), -np.sin(ax)], [0, np.sin(ax), np.cos(ax)]])
    about_y = np.array([[np.cos(ay), 0, np.sin(ay)], [0, 1, 0], [-np.sin(ay), 0, np.cos(ay)]])
    turn = np.array([[np.cos(roll), np.sin(roll), 0], [-np.sin(roll), np.cos(roll), 0], [0, 0, 1]])
    return np.asarray(about_x @ about_y @ turn, np.float64)


def eye_over(paper: tuple[float, float], tilts_deg: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Eye:
    """Where the camera of `photograph`, or one straight over the sheet's middle, stands."""
    x, y, z = -_tilted(tilts_deg).T @ [0.0, 0.0, LENS * max(paper)]
    return Eye(paper[0] / 2 + float(x), paper[1] / 2 - float(y), -float(z))


def photograph(
    paper: tuple[float, float], dpi: float, tilts_deg: tuple[float, float, float], pad: float = 0.06
) -> tuple[FloatArray, tuple[int, int]]:
    """Homography of a pinhole camera with square pixels, and the picture's size.

    ``tilts_deg`` turns the sheet about its x and y axes and in its own plane; ``dpi`` holds at its centre; the sheet
    keeps ``pad`` of its size of table round it.
    """
    k = dpi / MM_PER_INCH
    focal = LENS * k * max(paper)  # in pixels
    rotation = _tilted(tilts_deg)
    lens = np.diag([focal, focal, 1.0])
    plane = np.column_stack([rotation[:, 0], rotation[:, 1], [0, 0, focal / k]])
    upright = _matrix(1, 0, -paper[0] / 2, 0, -1, paper[1] / 2)
    to_lens = lens @ plane @ upright
    corners = project(to_lens, corners_of(paper))
    low, high = corners.min(axis=0), corners.max(axis=0)
    margin = pad * (high - low).max()
    size = (int(np.ceil(high[0] - low[0] + 2 * margin)), int(np.ceil(high[1] - low[1] + 2 * margin)))
    shift = _matrix(1, 0, margin - low[0], 0, 1, margin - low[1])
    whole = shift @ to_lens
    return whole / whole[2, 2], size


def corners_of(paper: tuple[float, float]) -> FloatArray:
    """Corners of the paper in mm, clockwise from the top left."""
    return np.array([[0, paper[1]], [paper[0], paper[1]], [paper[0], 0], [0, 0]], dtype=np.float64)


def pixels_per_mm(to_source: Camera) -> float:
    """Mean pixels per mm of paper of an exposure."""
    return float(abs(np.linalg.det(matrix_of(to_source)[:2, :2])) ** 0.5)


# -- harms ------------------------------------------------------------------------------------------------------------
def field(rng: Rng, shape: tuple[int, ...], grid: int) -> Plane:
    """A smooth field: ``grid`` noise values across, interpolated, about -1 to 1."""
    coarse = rng.uniform(-1, 1, (max(2, round(grid * shape[0] / shape[1])) + 1, grid + 1)).astype(np.float32)
    return np.asarray(cv2.resize(coarse, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC), dtype=np.float32)


def paper_mask(to_source: Camera, paper: tuple[float, float], shape: tuple[int, ...]) -> Plane:
    """1 on the paper, 0 beyond it."""
    mask = np.zeros(shape, dtype=np.uint8)
    outline = corners_of(paper)
    if isinstance(to_source, Bent):
        share = np.linspace(0, 1, OUTLINE_STEPS, endpoint=False)[:, None]
        outline = np.vstack([p + (q - p) * share for p, q in zip(outline, np.roll(outline, -1, axis=0), strict=True)])
    polygon = np.rint(project(to_source, outline)).astype(np.int32)
    if isinstance(to_source, Bent):
        cv2.fillPoly(mask, [polygon], 255, cv2.LINE_AA)
    else:
        cv2.fillConvexPoly(mask, polygon, 255, cv2.LINE_AA)
    return np.asarray(mask / np.float32(255), dtype=np.float32)


def _coarse(shape: tuple[int, ...]) -> tuple[int, int]:
    return shape[0] // SOFT + 1, shape[1] // SOFT + 1


def _spread(coarse: Plane, shape: tuple[int, ...]) -> Plane:
    """A soft plane drawn at a fraction of the picture's size, at full size."""
    wide = cv2.resize(coarse, (shape[1] // SOFT * SOFT + SOFT, shape[0] // SOFT * SOFT + SOFT))
    return np.asarray(wide[: shape[0], : shape[1]], dtype=np.float32)


def _blurred(plane: Plane, sigma: float) -> Plane:
    return np.asarray(cv2.GaussianBlur(plane, (0, 0), max(sigma, 0.3)), dtype=np.float32)


def folds(rng: Rng, to_source: Camera, paper: tuple[float, float], shape: tuple[int, ...]) -> Plane:
    """Creases right across the sheet: a pale line, shade on one side. Change of brightness, -1 to 1."""
    shade = np.zeros(_coarse(shape), dtype=np.float32)
    k = pixels_per_mm(to_source) / SOFT
    for _ in range(int(rng.integers(1, 4))):
        upright = rng.random() < 0.5
        at = float(rng.uniform(0.2, 0.8)) * paper[0 if upright else 1]
        tilt = float(rng.normal(0, 0.6))
        ends = [[at - tilt, 0], [at + tilt, paper[1]]] if upright else [[0, at - tilt], [paper[0], at + tilt]]
        p, q = np.rint(project(to_source, np.array(ends)) / SOFT).astype(int).tolist()
        line = np.zeros(shade.shape, dtype=np.float32)
        cv2.line(line, p, q, 1.0, max(1, round(0.5 * k)))
        pale, dark = float(rng.uniform(0.3, 0.9)), float(rng.uniform(0.4, 1.2))
        shade += pale * _blurred(line, 0.25 * k) - dark * _blurred(line, 3.0 * k)
    return _spread(np.clip(shade, -1, 1), shape)


def stains(rng: Rng, shape: tuple[int, ...], k: float) -> Plane:
    """Rings and blotches, 0 to about 1; ``k`` is pixels per mm."""
    small, k = _coarse(shape), k / SOFT
    out = np.zeros(small, dtype=np.float32)
    for _ in range(int(rng.integers(1, 5))):
        centre = (int(rng.uniform(0, small[1])), int(rng.uniform(0, small[0])))
        radius = rng.uniform(6, 28) * k
        axes = (int(radius), int(radius * rng.uniform(0.6, 1.0)))
        blot = np.zeros(small, dtype=np.float32)
        width = max(1, round(1.5 * k)) if rng.random() < 0.5 else -1
        cv2.ellipse(blot, centre, axes, float(rng.uniform(0, 180)), 0, 360, 1.0, width)
        out += _blurred(blot, float(rng.uniform(0.8, 2.5)) * k) * float(rng.uniform(0.4, 1.0))
    return _spread(out * (1 + 0.4 * field(rng, small, 24)), shape)


def specks(rng: Rng, shape: tuple[int, ...], k: float, per_cm2: float) -> Plane:
    """Dust and fly specks: 0 none, 1 ink-dark."""
    out = np.zeros(shape, dtype=np.uint8)
    count = rng.poisson(per_cm2 * shape[0] * shape[1] / (10 * k) ** 2)
    places = rng.uniform(0, 1, (count, 2)) * [shape[1], shape[0]]
    sizes = 0.06 + rng.exponential(0.07, count)
    tones = rng.uniform(90, 255, count)
    for (x, y), size, tone in zip(places, sizes, tones, strict=True):
        cv2.circle(out, (round(8 * x), round(8 * y)), round(8 * min(size, 0.35) * k), float(tone), -1, cv2.LINE_AA, 3)
    return np.asarray(out / np.float32(255), dtype=np.float32)


def dropout(rng: Rng, ink: Plane, k: float, depth: float) -> Plane:
    """Ink rubbed thin in patches and along hair lines."""
    grain = _blurred(rng.normal(0, 1, ink.shape).astype(np.float32), 0.12 * k)
    grain = grain * np.float32(0.35 / max(float(grain.std()), 1e-6))
    wear = np.clip(0.5 + field(rng, ink.shape, 9), 0, 1)
    left = np.clip(1 - depth * wear * np.clip(grain + 0.5, 0, 1.4), 0, 1)
    return np.asarray(ink * left, dtype=np.float32)


def show_through(rng: Rng, ink: Plane) -> Plane:
    """The drawing on the back: mirrored, blurred, faint."""
    back = cv2.flip(ink, int(pick(rng, (0, 1))))
    return np.asarray(cv2.GaussianBlur(back, (0, 0), 2.2) * float(rng.uniform(0.06, 0.14)), dtype=np.float32)


def scratches(rng: Rng, ink: Plane, k: float) -> Plane:
    """Torn and scraped strips where ink and paper went."""
    out = ink.copy()
    for _ in range(int(rng.integers(2, 6))):
        x, y = rng.uniform(0, ink.shape[1]), rng.uniform(0, ink.shape[0])
        points = [(x, y)]
        for _ in range(int(rng.integers(2, 5))):
            points.append((points[-1][0] + rng.normal(0, 20 * k), points[-1][1] + rng.normal(0, 20 * k)))
        for p, q in pairwise(points):
            cv2.line(out, (round(p[0]), round(p[1])), (round(q[0]), round(q[1])), 0.0, max(1, round(0.3 * k)))
    return out


# -- tones ------------------------------------------------------------------------------------------------------------
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


# -- whole exposures --------------------------------------------------------------------------------------------------
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
    ink = _blurred(ink, float(rng.uniform(0.03, 0.075)) * k * harm)
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
