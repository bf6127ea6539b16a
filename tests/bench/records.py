"""One sheet as the scorer sees it: its truth, and what was made of it."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import LevelSheet
from digitize.found import NAME, load
from samples.bends import Bend, Bent, Camera, Eye

FloatArray = NDArray[np.float64]
Record = dict[str, Any]


@dataclass(frozen=True)
class Case:
    """Truth and result of one sheet; ``table`` and ``sheet`` are None where the sheet failed.

    ``level`` is the calibrated sheet without its pictures, where it was kept: it knows how a sheet bends.
    """

    name: str
    truth: Record
    table: Record | None
    sheet: Record | None
    folder: Path
    level: LevelSheet | None = None

    @property
    def failed(self) -> bool:
        """Whether there is no result to score."""
        return self.table is None or self.sheet is None

    @property
    def source_from_paper(self) -> FloatArray:
        """Homography from mm of paper to source pixels."""
        return np.array(self.truth["source_from_paper"], dtype=np.float64)

    @property
    def part_from_source(self) -> FloatArray | None:
        """Homography from source pixels to the frame of `trace.dxf`, in mm, or None."""
        matrix = (self.sheet or {}).get("pixel_to_mm") or (self.sheet or {}).get("pixel_to_trace")
        return None if matrix is None else np.array(matrix, dtype=np.float64)


def camera_of(truth: Record) -> Camera:
    """How the sheet came into the picture: mm of paper to source pixels."""
    matrix = np.array(truth["source_from_paper"], np.float64)
    if "bend" not in truth:
        return matrix
    return Bent(matrix, Bend(**{**truth["bend"], "eye": Eye(**truth["bend"]["eye"])}))


def _read(path: Path) -> Record | None:
    if not path.is_file():
        return None
    try:
        return dict(json.loads(path.read_text(encoding="utf-8")))
    except ValueError:
        return None


def load_cases(results: Path, truths: Path) -> list[Case]:
    """Pair each ``NAME.truth.json`` with the folder NAME of results."""
    cases = []
    for path in sorted(truths.glob("*.truth.json")):
        truth = json.loads(path.read_text(encoding="utf-8"))
        folder = results / truth["name"]
        table, sheet = _read(folder / "dimensions.json"), _read(folder / "sheet.json")
        found = load(folder / NAME).sheet if "bend" in truth and (folder / NAME).is_file() else None
        cases.append(Case(truth["name"], truth, table, sheet, folder, found))
    return cases


def project(homography: FloatArray, points: Any) -> FloatArray:
    """Map (x, y) rows by a homography."""
    xy = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    mapped = xy @ homography[:, :2].T + homography[:, 2]
    return np.asarray(mapped[:, :2] / mapped[:, 2:3], dtype=np.float64)
