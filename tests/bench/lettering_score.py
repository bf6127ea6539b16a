"""What tracing does where lettering stands: strokes that letters became, and strokes that letters swallowed.

Lettering is where the truth says that it was written, whatever the finder took for it. Lengths are in mm of paper.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from calibrate.sheet import apply_homography
from digitize.found import NAME, load
from tests.bench.records import Case, FloatArray, project
from tests.bench.stroke_score import Compared, Pieces

CROSSED_MM = 0.5
"""A text is crossed where so much of a stroke lies in its box."""


@dataclass(frozen=True)
class SheetLettering:
    """Lengths in mm of paper of one sheet, and counts of texts.

    Attributes
    ----------
    texts : int
    stray : float
        Traced inside a text's box where no stroke was drawn.
    drawn, lost : float
        Strokes drawn through boxes, and what of them was not traced.
    crossed, kept : int
        Texts that strokes were drawn through, and those of them that were taken for lettering.
    """

    texts: int = 0
    stray: float = 0.0
    drawn: float = 0.0
    lost: float = 0.0
    crossed: int = 0
    kept: int = 0


def score_lettering(case: Case, found: Compared) -> SheetLettering:
    """Compare the trace of one sheet with its truth where its lettering stands."""
    paper_from_source = _inverse(case.source_from_paper)
    boxes = [Polygon(project(paper_from_source, text["quad_px"])) for text in case.truth["texts"]]
    drawn, traced = (_inside(boxes, pieces) for pieces in (found.truth, found.traced))
    drawn_in = drawn.any(axis=0)
    crossed = (drawn * found.truth.lengths).sum(axis=1) >= CROSSED_MM
    seen = _seen(case, boxes)
    return SheetLettering(
        len(boxes),
        float(found.traced.lengths[traced.any(axis=0) & ~found.on_truth].sum()),
        float(found.truth.lengths[drawn_in].sum()),
        float(found.truth.lengths[drawn_in & ~found.covered].sum()),
        int(crossed.sum()),
        int((crossed & seen).sum()),
    )


def _inside(boxes: list[Polygon], pieces: Pieces) -> NDArray[np.bool_]:
    """Whether the middle of each piece lies in each box, shape (boxes, pieces)."""
    rows = [shapely.contains_xy(box, pieces.middles) for box in boxes]
    return np.array(rows, dtype=bool).reshape(len(boxes), len(pieces.ends))


def _seen(case: Case, boxes: list[Polygon]) -> NDArray[np.bool_]:
    """Whether some block of lettering that was found has its middle in each box; all where no record was kept."""
    path = case.folder / NAME
    if not path.is_file():
        return np.ones(len(boxes), dtype=bool)
    found = load(path)
    if not found.texts:
        return np.zeros(len(boxes), dtype=bool)
    level_from_paper = found.sheet.level_from_source @ case.source_from_paper
    middles = np.array([text.block.centre for text in found.texts], dtype=np.float64)
    on_paper = apply_homography(_inverse(level_from_paper), middles)
    return np.array([bool(shapely.contains_xy(box, on_paper).any()) for box in boxes], dtype=bool)


def _inverse(homography: FloatArray) -> FloatArray:
    return np.asarray(np.linalg.inv(homography), dtype=np.float64)
