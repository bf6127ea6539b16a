"""The residual map and the check print on paper."""

from pathlib import Path

import numpy as np
import pypdfium2
import pytest

from digitize.dimensions.reconcile import reconcile
from digitize.lettering.grammar import parse
from digitize.report.check_pdf import write_pdf
from digitize.report.check_print import marked
from digitize.report.residuals import LONGEST, residual_map
from tests.digitize.dimensions.drawn import MM_PER_PX, draw, level_sheet
from tests.digitize.dimensions.test_reconcile import WIDTHS_IN, drawn

PEN_PX = (3.0, -3.0, 2.0, -2.0, 1.0, -1.0, 0.5, -4.0)
SHEET = level_sheet()
STROKES, TEXTS = draw([drawn(v, i, pen_px=px) for i, (v, px) in enumerate(zip(WIDTHS_IN, PEN_PX, strict=True))])
FOUND = reconcile(SHEET, STROKES, TEXTS, parse)


def test_arrows_point_out_of_lengths_drawn_long_and_into_those_drawn_short() -> None:
    mapped = residual_map(SHEET, FOUND.dimensions, FOUND.scales[0].part_per_paper)
    assert len(mapped.arrows) == len(WIDTHS_IN)
    for arrow in mapped.arrows:
        (x0, _), (x1, _) = arrow.first, arrow.second
        outward = (arrow.head[0] - arrow.tail[0]) * (x1 - x0) > 0
        assert outward == arrow.too_long
        assert ("longer" in arrow.words) == arrow.too_long


def test_arrows_are_as_long_as_the_residuals_times_the_enlargement() -> None:
    part_per_paper = FOUND.scales[0].part_per_paper
    mapped = residual_map(SHEET, FOUND.dimensions, part_per_paper)
    residual_mm = {row.id: (row.residual or 0.0) * 25.4 / part_per_paper for row in FOUND.dimensions}
    for arrow in mapped.arrows:
        length = (arrow.head[0] - arrow.tail[0]) * MM_PER_PX
        assert length == pytest.approx(residual_mm[arrow.id] * mapped.times)
        assert abs(length) <= LONGEST * SHEET.grey.shape[1] * MM_PER_PX


def test_a_sheet_drawn_true_has_no_arrows() -> None:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    found = reconcile(SHEET, strokes, texts, parse)
    assert residual_map(SHEET, found.dimensions, found.scales[0].part_per_paper).arrows == ()


def test_the_pdf_is_as_large_as_the_paper_and_its_marks_lie_on_their_figures(tmp_path: Path) -> None:
    marks = [each.mark for each in marked(SHEET, FOUND.dimensions)]
    write_pdf(tmp_path / "check-print.pdf", SHEET, marks)
    document = pypdfium2.PdfDocument(tmp_path / "check-print.pdf")
    height, width = SHEET.grey.shape
    size = [side * 25.4 / 72 for side in document[0].get_size()]
    assert size == pytest.approx([width * MM_PER_PX, height * MM_PER_PX], rel=1e-6)
    picture = np.asarray(document[0].render(scale=72 / 72).to_pil())
    document.close()
    middle = np.vstack(marks[0].paths).mean(axis=0) * MM_PER_PX / 25.4 * 72
    around = picture[round(middle[1]) - 2 : round(middle[1]) + 3, round(middle[0]) - 2 : round(middle[0]) + 3]
    assert np.ptp(around.reshape(-1, 3).astype(int), axis=1).max() > 40  # a colour on grey paper
