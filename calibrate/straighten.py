"""A restored page becomes a level sheet: quarter turns, perspective, fine skew, judged resolution."""

import cv2
import numpy as np

from calibrate.resolution import judge, paper_mm_per_px
from calibrate.sheet import FloatArray, GreyImage, InkImage, LevelSheet, PageImage, Restored
from calibrate.skew import Skew, find_skew
from calibrate.transforms import levelling

PAPER = 255
HALF_INK = 127
LARGEST_SHEAR_DEG = 0.15
"""Level and upright lines of a good scan stay square to each other to well within this."""
UNSURE_SKEW_DEG = 0.1


def straighten(page: PageImage, restored: Restored) -> LevelSheet:
    """Bring a restored page upright and level.

    Parameters
    ----------
    page : PageImage
    restored : Restored
        Of the same page.

    Returns
    -------
    LevelSheet
    """
    working_grey, working_ink = restored.grey, restored.ink
    skew = find_skew(working_grey, working_ink, restored.pen_px)
    level_from_working, size = levelling(working_grey.shape[0], working_grey.shape[1], skew.skew_deg)
    resolution = judge(page.resolution, restored.pen_px, page.pixels.shape)
    return LevelSheet(
        path=page.path,
        sha256=page.sha256,
        page=page.page,
        page_count=page.page_count,
        source_shape_px=(page.pixels.shape[0], page.pixels.shape[1]),
        polarity=restored.polarity,
        resolution=resolution,
        working_grey=working_grey,
        working_ink=working_ink,
        grey=_moved(working_grey, level_from_working, size),
        ink=_moved_ink(working_ink, level_from_working, size),
        working_from_source=np.eye(3),
        level_from_working=level_from_working,
        orientation_deg=0,
        skew_deg=skew.skew_deg,
        skew_std_deg=skew.std_deg,
        rectified=False,
        paper_mm_per_px=paper_mm_per_px(resolution, restored.pen_px),
        pen_px=restored.pen_px,
        warnings=_doubts(skew),
    )


def _moved(grey: GreyImage, matrix: FloatArray, size: tuple[int, int]) -> GreyImage:
    moved: GreyImage = cv2.warpAffine(
        grey, matrix[:2], size[::-1], flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_CONSTANT, borderValue=PAPER
    )
    return moved


def _moved_ink(ink: InkImage, matrix: FloatArray, size: tuple[int, int]) -> InkImage:
    full = ink.view(np.uint8) * np.uint8(PAPER)
    moved = cv2.warpAffine(full, matrix[:2], size[::-1], flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT)
    return np.asarray(moved > HALF_INK, np.bool_)


def _doubts(skew: Skew) -> tuple[str, ...]:
    doubts = []
    if skew.bar_count == 0:
        doubts.append("No long straight lines were found; the skew comes from the whole picture and is less exact.")
    elif skew.std_deg > UNSURE_SKEW_DEG:
        doubts.append(f"The long lines disagree among themselves; the skew is good to {skew.std_deg:.2f} degrees only.")
    if skew.level_deg is not None and skew.upright_deg is not None:
        shear = abs(skew.level_deg - skew.upright_deg)
        if shear > LARGEST_SHEAR_DEG:
            doubts.append(f"Level and upright lines are {shear:.2f} degrees off square: the scan or the paper is sheared.")
    return tuple(doubts)
