"""Photographs against truth: how square and how straight a sheet comes out, calibration alone.

``python -m tests.bench.photo --seeds 3000:3040 --out DIR``

Terms
-----
square
    Squares of `SQUARE_MM` drawn at nine places of the sheet are carried through the truth into the picture and through
    the found transform into the level frame. ``angle``: worst difference of their two diagonals, percent.
    ``growth``: largest side over smallest among squares' like sides, percent: what is left of the perspective.
    ``sides``: sides across over sides up, percent: the proportion. ``square`` is the worst of angle and growth.
straight
    Largest distance, in level pixels, of points along the true border's four sides from the straight line nearest to
    them.
"""

import argparse
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from calibrate.errors import InputError
from calibrate.level import calibrate_sheet
from calibrate.sheet import FloatArray, LevelSheet
from samples.__main__ import make_sheet, seed_range
from samples.truth import project

SQUARE_MM = 60.0
PLACES = (0.2, 0.5, 0.8)
SQUARE_LIMIT, STRAIGHT_LIMIT_PX = 0.05, 1.0
POINTS = 60


@dataclass(frozen=True)
class Shape:
    """What one sheet's transform leaves: percent, percent, percent, level pixels."""

    name: str
    angle: float
    growth: float
    sides: float
    straight_px: float

    @property
    def square(self) -> float:
        """Worst failing of a square, the sheet's proportion apart, in percent."""
        return max(self.angle, self.growth)


def squares(paper: tuple[float, float]) -> FloatArray:
    """Corners of the test squares in mm of paper, shape (N, 4, 2), counter-clockwise from the lower left."""
    half = SQUARE_MM / 2
    corner = np.array([[-half, -half], [half, -half], [half, half], [-half, half]])
    return np.array([np.array([u, v]) * paper + corner for u in PLACES for v in PLACES])


def shape_of(sheet: LevelSheet, truth: dict[str, Any]) -> Shape:
    """Carry true squares and the true border into the level frame, and measure them there."""
    name, paper = str(truth["name"]), np.array(truth["paper_mm"], np.float64)
    to_level = sheet.level_from_source @ np.array(truth["source_from_paper"])
    corners = squares((float(paper[0]), float(paper[1])))
    seen = project(to_level, corners.reshape(-1, 2)).reshape(corners.shape)
    across = np.linalg.norm(seen[:, [1, 2]] - seen[:, [0, 3]], axis=2)
    up = np.linalg.norm(seen[:, [3, 2]] - seen[:, [0, 1]], axis=2)
    diagonal = np.linalg.norm(seen[:, [2, 3]] - seen[:, [0, 1]], axis=2)
    growth = max(float(side.max() / side.min() - 1) for side in (across, up))
    lines = [line for line in truth["strokes"] if line["role"] == "border" and line["type"] == "line"]
    ends = np.array([[line["p0"], line["p1"]] for line in lines[:4]])
    return Shape(
        name,
        100 * float(np.abs(diagonal[:, 0] / diagonal[:, 1] - 1).max()),
        100 * growth,
        100 * float(across.mean() / up.mean() - 1),
        max(_crookedness(project(to_level, side)) for side in _along(ends)),
    )


def _along(ends: FloatArray) -> FloatArray:
    share = np.linspace(0, 1, POINTS)[:, None]
    return np.array([first + (last - first) * share for first, last in ends])


def _crookedness(points: FloatArray) -> float:
    """Largest distance of points from the straight line nearest to them."""
    centred = points - points.mean(axis=0)
    normal = np.linalg.svd(centred, full_matrices=False)[2][1]
    return float(np.abs(centred @ normal).max())


def report(shapes: list[Shape], refused: list[str]) -> str:
    """The figures of all sheets against their limits, in words."""
    square, straight = (np.array([getattr(shape, key) for shape in shapes]) for key in ("square", "straight_px"))
    sides = np.abs([shape.sides for shape in shapes])
    worst = shapes[int(square.argmax())].name
    return "\n".join(
        [
            f"{len(shapes)} photographs, {len(refused)} refused {refused}",
            f"  square: median {np.median(square):.4f}, 95th {np.percentile(square, 95):.4f}, worst {square.max():.4f}"
            f" % ({worst}); over {SQUARE_LIMIT} %: {int((square > SQUARE_LIMIT).sum())}",
            f"  straight: worst {straight.max():.4f} px; over {STRAIGHT_LIMIT_PX:.0f} px:"
            f" {int((straight > STRAIGHT_LIMIT_PX).sum())}",
            f"  proportion, from the camera alone: median {np.median(sides):.3f}, worst {sides.max():.3f} %",
        ]
    )


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="photo", description=__doc__)
    parser.add_argument("--seeds", type=seed_range, required=True, help="first:last, last not included")
    parser.add_argument("--out", type=Path, required=True)
    options = parser.parse_args(argv)
    cv2.setNumThreads(1)
    shapes, refused = [], []
    for seed in options.seeds:
        picture = make_sheet("harsh", seed, options.out)
        record = picture.with_name(f"{picture.stem}.truth.json")
        truth = json.loads(record.read_text(encoding="utf-8"))
        try:
            if truth["perspective"]:
                shapes.append(shape_of(calibrate_sheet(picture), truth))
        except InputError as error:
            refused.append(f"{picture.name}: {error}")
        picture.unlink()
        record.unlink()
    print(report(shapes, refused), flush=True)


if __name__ == "__main__":
    main()
