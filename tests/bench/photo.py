"""Photographs against truth: how square and how straight a sheet comes out, calibration alone.

``python -m tests.bench.photo --seeds 3000:3040 --out DIR [--bend curl|fold]``

Terms
-----
square
    Squares of `SQUARE_MM` drawn at nine places of the sheet are carried through the truth into the picture and through
    the found transform into the level frame. ``angle``: worst difference of their two diagonals, percent.
    ``growth``: largest side over smallest among squares' like sides, percent: what is left of the perspective.
    ``sides``: sides across over sides up, percent: the proportion, which hangs on where the lens's axis met the picture
    (told with its stated standard error). ``square`` is the worst of angle and growth.
straight
    Largest distance, in level pixels, of points along the true border's four sides from the straight line nearest to
    them.
drawn
    The same of the border's lines as they are found in the picture's own ink, median over a line's points.
bend
    With ``--bend`` the sheets are curled or folded; the figures before the correction are given beside.
"""

import argparse
import json
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

from calibrate.errors import InputError
from calibrate.level import calibrate_sheet
from calibrate.scaling.stretching import STRETCH_PRIOR
from calibrate.sheet import FloatArray, LevelSheet
from calibrate.straightening.bend import Bend
from calibrate.straightening.ruled_tracks import straightness
from calibrate.straightening.skew import find_ruled
from samples.__main__ import make_sheet, seed_range
from samples.bends import KINDS
from samples.truth import project
from tests.bench.records import Record, camera_of

SQUARE_MM = 60.0
PLACES = (0.2, 0.5, 0.8)
SQUARE_LIMIT, STRAIGHT_LIMIT_PX = 0.05, 1.0
POINTS = 60
BORDER_PENS = 6.0
"""Lines in the ink so near the true border are the border, bowed or not: no other line is ruled there."""


@dataclass(frozen=True)
class Shape:
    """What one sheet's transform leaves: percent, percent, percent, level pixels; stated error of sides, percent."""

    name: str
    angle: float
    growth: float
    sides: float
    straight_px: float
    drawn_px: float
    stated: float

    @property
    def square(self) -> float:
        """Worst failing of a square, the sheet's proportion apart, in percent."""
        return max(self.angle, self.growth)


def squares(paper: tuple[float, float]) -> FloatArray:
    """Corners of the test squares in mm of paper, shape (N, 4, 2), counter-clockwise from the lower left."""
    half = SQUARE_MM / 2
    corner = np.array([[-half, -half], [half, -half], [half, half], [-half, half]])
    return np.array([np.array([u, v]) * paper + corner for u in PLACES for v in PLACES])


def shape_of(sheet: LevelSheet, truth: Record, *, as_seen: bool = False) -> Shape:
    """Carry true squares and the true border into the level frame, and measure them there: flat, or as it is seen."""
    camera, paper = camera_of(truth), np.array(truth["paper_mm"], np.float64)
    bend = sheet.bend if as_seen else None

    def to_level(points: FloatArray) -> FloatArray:
        flat = sheet.flat_points(project(camera, points))
        return flat if bend is None else bend.bent(flat)

    corners = squares((float(paper[0]), float(paper[1])))
    seen = to_level(corners.reshape(-1, 2)).reshape(corners.shape)
    across = np.linalg.norm(seen[:, [1, 2]] - seen[:, [0, 3]], axis=2)
    up = np.linalg.norm(seen[:, [3, 2]] - seen[:, [0, 1]], axis=2)
    diagonal = np.linalg.norm(seen[:, [2, 3]] - seen[:, [0, 1]], axis=2)
    growth = max(float(side.max() / side.min() - 1) for side in (across, up))
    lines = [line for line in truth["strokes"] if line["role"] == "border" and line["type"] == "line"]
    ends = np.array([[line["p0"], line["p1"]] for line in lines[:4]])
    return Shape(
        str(truth["name"]),
        100 * float(np.abs(diagonal[:, 0] / diagonal[:, 1] - 1).max()),
        100 * growth,
        100 * float(across.mean() / up.mean() - 1),
        max(_crookedness(to_level(side)) for side in _along(ends)),
        drawn_px(sheet, to_level(ends.reshape(-1, 2)).reshape(-1, 2, 2), bend),
        100 * (sheet.proportion.std if sheet.proportion else STRETCH_PRIOR),
    )


def drawn_px(sheet: LevelSheet, borders: FloatArray, as_seen: Bend | None) -> float:
    """Worst typical distance from straight of the lines in the ink that lie on the border, in level pixels.

    The pictures show the sheet flat; ``as_seen`` bends what is measured on them back.
    """
    ruled = find_ruled(sheet.grey, sheet.ink, sheet.pen_px)
    worst = 0.0
    for along, bars in enumerate((ruled.level, ruled.upright)):
        if not bars.count:
            continue
        tracks = bars.tracks
        if as_seen is not None:
            tracks = as_seen.bent(tracks.reshape(-1, 2)).reshape(tracks.shape)
        off = np.median(np.abs(straightness(tracks, np.full(bars.count, along))[0]), axis=1)
        middle = tracks.mean(axis=1)[:, 1 - along]
        places = [side[:, 1 - along].mean() for side in borders if np.ptp(side[:, along]) > np.ptp(side[:, 1 - along])]
        on_border = np.abs(middle[:, None] - np.array(places)).min(axis=1) < BORDER_PENS * sheet.pen_px
        worst = max(worst, float(off[on_border].max(initial=0.0)))
    return worst


def _along(ends: FloatArray) -> FloatArray:
    share = np.linspace(0, 1, POINTS)[:, None]
    return np.array([first + (last - first) * share for first, last in ends])


def _crookedness(points: FloatArray) -> float:
    """Largest distance of points from the straight line nearest to them."""
    centred = points - points.mean(axis=0)
    normal = np.linalg.svd(centred, full_matrices=False)[2][1]
    return float(np.abs(centred @ normal).max())


def report(title: str, shapes: list[Shape], refused: list[str]) -> str:
    """The figures of all sheets against their limits, in words."""
    keys = ("square", "straight_px", "drawn_px")
    square, straight, drawn = (np.array([getattr(shape, key) for shape in shapes]) for key in keys)
    sides, stated = np.abs([shape.sides for shape in shapes]), np.array([shape.stated for shape in shapes])
    worst = shapes[int(square.argmax())].name
    return "\n".join(
        [
            f"{title}: {len(shapes)} photographs, {len(refused)} refused {refused}",
            f"  square: median {np.median(square):.4f}, 95th {np.percentile(square, 95):.4f}, worst {square.max():.4f}"
            f" % ({worst}); over {SQUARE_LIMIT} %: {int((square > SQUARE_LIMIT).sum())}",
            f"  straight: median {np.median(straight):.3f}, worst {straight.max():.3f} px;"
            f" over {STRAIGHT_LIMIT_PX:.0f} px: {int((straight > STRAIGHT_LIMIT_PX).sum())}",
            f"  drawn border from straight: median {np.median(drawn):.3f}, worst {drawn.max():.3f} px",
            f"  proportion, before any dimension: median {np.median(sides):.3f}, worst {sides.max():.3f} %; stated"
            f" standard error median {np.median(stated):.3f} %, rms of error over it"
            f" {np.sqrt(np.mean((sides / stated) ** 2)):.2f}",
        ]
    )


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="photo", description=__doc__)
    parser.add_argument("--seeds", type=seed_range, required=True, help="first:last, last not included")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--bend", choices=KINDS)
    options = parser.parse_args(argv)
    cv2.setNumThreads(1)
    found: list[Shape] = []
    before: list[Shape] = []
    refused: list[str] = []
    missed: list[str] = []
    unexplained: list[str] = []
    for seed in options.seeds:
        picture = make_sheet("harsh", seed, options.out, bend=options.bend)
        record = picture.with_name(f"{picture.stem}.truth.json")
        truth = json.loads(record.read_text(encoding="utf-8"))
        try:
            if truth["perspective"]:
                sheet = calibrate_sheet(picture)
                found.append(shape_of(sheet, truth))
                before.append(shape_of(sheet, truth, as_seen=True))
                missed += [picture.stem] * (sheet.bend is None)
                unexplained += [picture.stem] * (sheet.bend is not None and not sheet.bend.corrected)
        except InputError as error:
            refused.append(f"{picture.name}: {error}")
        picture.unlink()
        record.unlink()
    if options.bend:
        print(report("as seen", before, refused), flush=True)
        print(f"bend not seen {missed}, not explained {unexplained}")
    print(report("flat", found, refused), flush=True)


if __name__ == "__main__":
    main()
