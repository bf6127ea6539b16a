"""Arcs against what their pixels can tell at best: ``python -m tests.bench.arcs [--by pdfium] [--count 150]``.

Lone arcs of known centre and radius, each at a chance place and turn, are drawn by this module (the ink's area in every
pixel, blurred as a lens does) or by ReportLab and PDFium, given noise, and traced. Beside the errors stand the
Cramer-Rao bound and what scikit-image's and OpenCV's fits make of the same picture's skeleton.
"""

import argparse
from dataclasses import dataclass
from io import BytesIO

import cv2
import numpy as np
import pypdfium2
from numpy.typing import NDArray
from reportlab.pdfgen.canvas import Canvas
from scipy.ndimage import gaussian_filter
from skimage.measure import CircleModel
from skimage.morphology import skeletonize

from digitize.strokes.centre_lines.fit import ARC
from digitize.strokes.ground import ground_of
from digitize.strokes.trace import traced_pieces
from tests.digitize.strokes.drawn import sheet_of

FloatArray = NDArray[np.float64]

PAPER, INK = 250.0, 10.0
BLUR_PX = 0.5
FINE = 6
"""Places along each side of a pixel."""
MARGIN_PX = 14.0
SEGMENT_DEG = 1.0
"""PDFium draws each of PDF's curves as chords: of five degrees, they take .0025 px off a radius of 60."""
ROUND_CAP, SQUARE_CAP = 1, 0
"""Ends in PDF: a half circle, or cut square."""
WHOLE = 360.0
CASES = ((60, 30, 3), (120, 30, 4), (60, 45, 3), (120, 60, 4), (20, 90, 4), (60, 90, 3), (120, 90, 4), (30, 180, 3),
         (8, 360, 4), (60, 360, 3))  # fmt: skip


@dataclass(frozen=True)
class TrueArc:
    """Centre, radius, start and sweep counter-clockwise as seen in degrees, width; in px of a square picture."""

    x: float
    y: float
    radius: float
    start_deg: float
    sweep_deg: float
    width: float

    @property
    def side(self) -> int:
        """Side of the picture."""
        return round(2.0 * (self.radius + self.width + MARGIN_PX))


def arc_somewhere(radius: float, sweep_deg: float, width: float, rng: np.random.Generator) -> TrueArc:
    """An arc turned by chance, its centre anywhere in a pixel."""
    at = radius + width + MARGIN_PX + rng.uniform(-0.5, 0.5, 2)
    return TrueArc(float(at[0]), float(at[1]), radius, float(rng.uniform(0, WHOLE)), sweep_deg, width)


def _past(arc: TrueArc, x: FloatArray, y: FloatArray) -> FloatArray:
    """Degrees from the start of an arc to the direction of some points."""
    return np.asarray((np.degrees(np.arctan2(arc.y - y, x - arc.x)) - arc.start_deg) % WHOLE, dtype=np.float64)


def by_area(arc: TrueArc) -> FloatArray:
    """Share of every pixel that the pen covers, blurred before pixels are formed."""
    places = (np.arange(arc.side * FINE) + 0.5) / FINE - 0.5
    x, y = places[None, :], places[:, None]
    distance = np.abs(np.hypot(x - arc.x, y - arc.y) - arc.radius)
    if arc.sweep_deg < WHOLE:
        ends = [np.radians(arc.start_deg), np.radians(arc.start_deg + arc.sweep_deg)]
        tips = [(arc.x + arc.radius * np.cos(a), arc.y - arc.radius * np.sin(a)) for a in ends]
        beyond = np.minimum(*(np.hypot(x - tx, y - ty) for tx, ty in tips))
        distance = np.where(_past(arc, x, y) > arc.sweep_deg, beyond, distance)
    cover = np.clip((arc.width / 2 - distance) * FINE + 0.5, 0.0, 1.0)
    return through_lens(cover)


def through_lens(cover: FloatArray) -> FloatArray:
    """Blur what was drawn `FINE` times too large as a lens does, before pixels are formed of it.

    Pixels blurred by their neighbours are no substitute: three weights in a row are no bell, and spread more along rows
    and columns than aslant, which no lens does and which moves a circle by its place in the grid.
    """
    blurred, side = gaussian_filter(cover, BLUR_PX * FINE), len(cover) // FINE
    return np.asarray(blurred.reshape(side, FINE, side, FINE).mean(axis=(1, 3)), dtype=np.float64)


def by_pdfium(arc: TrueArc, cap: int = ROUND_CAP) -> FloatArray:
    """The arc drawn by ReportLab, with ends as PDF numbers them, and rastered by PDFium."""
    buffer = BytesIO()
    canvas = Canvas(buffer, pagesize=(arc.side, arc.side), pageCompression=0)
    canvas.setLineWidth(arc.width)
    canvas.setLineCap(cap)
    path = canvas.beginPath()
    x, y = arc.x + 0.5, arc.side - (arc.y + 0.5)
    box = x - arc.radius, y - arc.radius, x + arc.radius, y + arc.radius
    start = np.radians(arc.start_deg)
    path.moveTo(x + arc.radius * np.cos(start), y + arc.radius * np.sin(start))
    count = int(np.ceil(arc.sweep_deg / SEGMENT_DEG))
    for n in range(count):
        extent = arc.sweep_deg / count
        path.arcTo(*box, arc.start_deg + n * extent, extent)  # type: ignore[arg-type]  # degrees need not be whole
    if arc.sweep_deg == WHOLE:
        path.close()
    canvas.drawPath(path)
    canvas.save()
    page = pypdfium2.PdfDocument(buffer.getvalue())[0]
    grey = np.asarray(page.render(scale=FINE, grayscale=True).to_numpy(), dtype=np.float64)
    return through_lens(1.0 - grey.reshape(arc.side * FINE, arc.side * FINE) / 255.0)


def bound_px(arc: TrueArc, noise: float) -> tuple[float, float]:
    """Cramer-Rao bounds on the centre (the worse direction) and the radius, from the pixels abreast of an arc.

    The inverse of Fisher's information on centre, radius, width and blackness for equal normal noise on all pixels;
    slopes are those of a blurred edge, taken at `FINE` squared places in every pixel. Blur and paper, which the tracing
    does not know either, raise it by less than a hundredth. Ends tell nothing here: on drawings they run into other
    strokes. Of a free end, a pixel's width beyond it tells a little more.
    """
    places = (np.arange(arc.side * FINE) + 0.5) / FINE - 0.5
    x, y = np.meshgrid(places, places)
    ux, uy = x - arc.x, y - arc.y
    distance = np.maximum(np.hypot(ux, uy), 1e-9)
    inner, outer = distance - arc.radius + arc.width / 2, distance - arc.radius - arc.width / 2
    at_inner, at_outer = (np.exp(-0.5 * (t / BLUR_PX) ** 2) / (BLUR_PX * np.sqrt(2 * np.pi)) for t in (inner, outer))
    slope = at_inner - at_outer
    dark = 1.0 * ((inner > 0) & (outer < 0))
    columns = -slope * ux / distance, -slope * uy / distance, -slope, 0.5 * (at_inner + at_outer), dark
    abreast = (_past(arc, x, y) <= arc.sweep_deg) if arc.sweep_deg < WHOLE else np.ones(x.shape, bool)
    shape = arc.side, FINE, arc.side, FINE
    design = np.stack([(c * abreast).reshape(shape).mean(axis=(1, 3)).ravel() for c in columns], axis=1)
    covariance = np.linalg.inv(design.T @ design) * (noise / (PAPER - INK)) ** 2
    centre = np.sqrt(np.linalg.eigvalsh(covariance[:2, :2])[-1])
    return float(centre), float(np.sqrt(covariance[2, 2]))


@dataclass(frozen=True)
class Errors:
    """Of one picture, in px: distance of the traced centre, traced radius, and the radius of two other libraries."""

    centre: float
    radius: float
    skimage: float
    opencv: float


def errors_on(arc: TrueArc, cover: FloatArray, noise: float, rng: np.random.Generator) -> Errors:
    """Trace one picture under noise."""
    grey = PAPER - (PAPER - INK) * cover + rng.normal(0.0, noise, cover.shape)
    picture = np.clip(np.rint(grey), 0, 255).astype(np.uint8)
    ground = ground_of(sheet_of(picture), np.zeros(picture.shape, bool))
    piece = max(traced_pieces(ground).pieces, key=lambda p: p.length)
    track = piece.track
    centre = float(np.hypot(track.x - arc.x, track.y - arc.y)) if track.kind == ARC else np.inf
    thin = np.argwhere(skeletonize(ground.ink))[:, ::-1]  # type: ignore[no-untyped-call]
    other = CircleModel.from_estimate(thin.astype(np.float64))  # type: ignore[no-untyped-call]
    axes = cv2.fitEllipse(thin.astype(np.float32))[1]
    return Errors(centre, track.radius - arc.radius, float(other.radius) - arc.radius, sum(axes) / 4 - arc.radius)


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="arcs", description=__doc__)
    parser.add_argument("--by", choices=("area", "pdfium"), default="area")
    parser.add_argument("--count", type=int, default=150)
    parser.add_argument("--noise", type=float, default=4.0, help="standard deviation in grey levels")
    parser.add_argument("--seed", type=int, default=33000)
    options = parser.parse_args(argv)
    rng = np.random.default_rng(options.seed)
    draw = by_area if options.by == "area" else by_pdfium
    for radius, sweep, width in CASES:
        arcs = [arc_somewhere(radius, sweep, width, rng) for _ in range(options.count)]
        found = [errors_on(arc, draw(arc), options.noise, rng) for arc in arcs]
        centre_bound, bound = np.mean([bound_px(arc, options.noise) for arc in arcs[:4]], axis=0)
        radii = np.array([[e.radius, e.skimage, e.opencv] for e in found])
        rms = np.sqrt(np.mean(radii**2, axis=0))
        ratio, chance = rms[0] / bound, 1.0 / np.sqrt(2 * options.count)
        centre = np.sqrt(np.mean([e.centre**2 for e in found]))
        print(
            f"radius {radius} px, {sweep} deg, pen {width} px: radius off {radii[:, 0].mean():+.4f} on average,"
            f" {rms[0]:.4f} rms, bound {bound:.4f}, ratio {ratio:.2f} +- {ratio * chance:.2f}; centre {centre:.4f}"
            f" (bound of its worse direction {centre_bound:.4f}); scikit-image {rms[1]:.3f}, OpenCV {rms[2]:.3f}",
            flush=True,
        )


if __name__ == "__main__":
    main()
