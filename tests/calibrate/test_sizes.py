from pathlib import Path

import pytest

import calibrate
import digitize
from calibrate.files.resolution import judge, stated, unknown
from calibrate.scaling.sizes import sheet_sizes, size_evidence
from calibrate.sheet import ResolutionStatus

PEN_PX = 3.0


def px(mm, dpi):
    return mm / 25.4 * dpi


# ISO 216: A4 is 210 x 297 mm; ANSI Y14.1: D is 22 x 34 in.
@pytest.mark.parametrize(
    ("sides_mm", "said"), [((210, 297), "A4"), ((297, 210), "A4"), ((22 * 25.4, 34 * 25.4), "ANSI Y14.1 D")]
)
@pytest.mark.parametrize("shrink", [0.0, 0.004])
def test_a_standard_size_is_told_with_its_deviation(sides_mm, said, shrink):
    size = [px(side * (1 - shrink), 300) for side in sides_mm]
    line = size_evidence(stated(300, 300, "TIFF tags"), tuple(size), PEN_PX, of_paper=True)[0]
    assert line == f"The paper is {said} within {100 * shrink + 0.05:.1f} %."


def test_each_axis_has_its_own_resolution():
    size = (px(297, 200), px(210, 400))
    assert "A4" in size_evidence(stated(200, 400, "TIFF tags"), size, PEN_PX, of_paper=True)[0]


def test_no_standard_size_is_no_line():
    assert size_evidence(stated(300, 300, "TIFF tags"), (px(250, 300), px(250, 300)), PEN_PX, of_paper=True) == ()


def test_a_picture_cut_larger_than_its_paper_is_no_witness():
    size = (px(297 * 1.01, 300), px(210 * 1.01, 300))
    assert size_evidence(stated(300, 300, "TIFF tags"), size, PEN_PX, of_paper=False) == ()


def test_without_a_resolution_a_size_is_a_candidate_only():
    line = size_evidence(unknown(""), (px(420, 300), px(297, 300)), PEN_PX, of_paper=True)[0]
    assert "A3 at 300 dpi" in line
    assert "a candidate, not a fact" in line


def test_proportions_of_several_series_give_no_candidate():
    # 22 x 34 in at 200 dpi and 23 x 34 in (Columbier) are told apart; 17 x 22 in is both ANSI Y14.1 C and Medium.
    assert size_evidence(unknown(""), (px(22 * 25.4, 200), px(17 * 25.4, 200)), PEN_PX, of_paper=True) == ()


def test_the_table_is_that_of_the_standards():
    own = Path(calibrate.__file__).with_name("sheet_sizes.csv")
    assert own.read_bytes() == (Path(digitize.__file__).parent / "standards" / "sheet_sizes.csv").read_bytes()
    assert len(sheet_sizes()) > 20


@pytest.mark.parametrize(("dpi", "reason"), [(1, "programs write"), (72, "programs write"), (10_000, "no scanner")])
def test_nonsense_in_the_metadata_is_told_and_not_believed(dpi, reason):
    judged = judge(stated(dpi, dpi, "TIFF tags"), PEN_PX, (2480, 3508))
    assert judged.status is ResolutionStatus.UNKNOWN
    assert judged.x_dpi is None
    assert f"states {dpi} dpi" in judged.note
    assert reason in judged.note
