"""A restored page becomes a level sheet: perspective, fine skew, quarter turns, judged resolution."""

import math
from dataclasses import dataclass, replace

import numpy as np

from calibrate.files.resolution import MM_PER_INCH, judge, paper_mm_per_px, turned
from calibrate.quad import has_parallel_sides
from calibrate.restoring.moving import moved, moved_along
from calibrate.scaling.sizes import quad_sides_px, size_evidence
from calibrate.sheet import (
    FloatArray,
    GreyImage,
    InkImage,
    LevelSheet,
    OtherInk,
    PageImage,
    Proportion,
    Resolution,
    Restored,
    Squares,
    apply_homography,
)
from calibrate.straightening.bend import Bend
from calibrate.straightening.bending import Eye, find_bend
from calibrate.straightening.camera import eye_over
from calibrate.straightening.check import check_is_drawing
from calibrate.straightening.flat_map import bend_words
from calibrate.straightening.letters import find_letters
from calibrate.straightening.mirror import BACK_SHOWS, TURNED_OVER, has_mirrored_row, reads_in_mirror, turned_over
from calibrate.straightening.perspective import Flat, flatten_perspective
from calibrate.straightening.skew import Skew, combined_skew
from calibrate.straightening.turns import Turn, find_turn
from calibrate.straightening.whole import doubts_of_wholeness
from calibrate.transforms import levelling, quarter_turn, quarter_turned

LARGEST_SHEAR_DEG = 0.15
"""Level and upright lines of a good scan stay square to each other to well within this."""
SHEAR_STDS = 4.0
UNSURE_SKEW_DEG = 0.1
LEAST_MOVED_PX = 0.1
"""A skew that moves the end of the longer side by less is left: drawing a picture anew for it would only blur it."""
ONE_BIT_NOTE = (
    "The file is a scan of one bit: dirt, folds and the edges of tape that the scanner made ink are as black as the"
    " drawing. Tape that lies aslant is told from it, the rest stays; scan in grey where the sheet has any."
)
SQUARES_OFF = (
    "The paper is ruled in squares, whose lines were taken off; what is drawn as faint as they were may have gone with"
    " them."
)
SQUARES_LEFT = (
    "The paper is ruled in squares that can't be told from the drawing: as dark as its lines, or in a photograph. They"
    " are traced as if they were drawn, and little will be read or agreed; scan the sheet flat, in grey or colour."
)
PERSPECTIVE_NOTE = (
    "The picture is a photograph; its perspective was taken off, but what bends in the paper stays: check long lengths."
    " The proportion of its sides is known to {percent:.1f} % (standard error) {note}: lengths across may be off by so"
    " much against those up the sheet until dimensions along both, or circles, tell."
)


def straighten(
    page: PageImage, restored: Restored, orientation_deg: int | None = None, over: bool | None = None
) -> LevelSheet:
    """Bring a restored page upright and level.

    Parameters
    ----------
    page : PageImage
    restored : Restored
        Of the same page.
    orientation_deg : int, optional
        Quarter turns, counter-clockwise as seen, that are known to bring it upright; else its letters tell.
    over : bool, optional
        Whether it is known to show its sheet in mirror image; else its letters tell.

    Returns
    -------
    LevelSheet

    Raises
    ------
    InputError
        Where the page is no drawing.
    """
    flat = flatten_perspective(restored.grey, restored.ink, restored.sheet_quad_px, restored.pen_px, page.focus)
    check_is_drawing(page, restored, flat.ruled)
    level = _levelled(flat, restored.pen_px)
    letters = find_letters(level.ink, restored.pen_px)
    over = reads_in_mirror(letters) if over is None else over
    if over:
        flat, letters = turned_over(flat), letters.mirrored()
        level = _levelled(flat, restored.pen_px)
    known_turn = None if orientation_deg is None else Turn(orientation_deg // 90 % 4, None)
    turn = known_turn or find_turn(level.ink, letters)
    skew, (height, width) = level.skew, level.ink.shape
    level_from_flat = quarter_turn(height, width, turn.quarters) @ level.level_from_flat
    upright_size = (width, height) if turn.quarters % 2 else (height, width)
    bend = _bend(page, flat, level_from_flat, upright_size, restored.pen_px)
    if bend is not None and bend.corrected:
        pictures = _unbent(flat, bend, level_from_flat, upright_size, restored.pen_px)
    else:
        pictures = _upright(flat, (level.grey, level.ink), level_from_flat, turn.quarters)
    resolution = judge(page.resolution, restored.pen_px, page.pixels.shape, photographed=flat.rectified)
    sheet = LevelSheet(
        path=page.path,
        sha256=page.sha256,
        page=page.page,
        page_count=page.page_count,
        source_shape_px=(page.pixels.shape[0], page.pixels.shape[1]),
        polarity=restored.polarity,
        resolution=_upright_resolution(resolution, turn.quarters),
        working_grey=pictures.working[0],
        working_ink=pictures.working[1],
        grey=pictures.level[0],
        ink=pictures.level[1],
        working_from_source=pictures.working_from_flat @ flat.matrix,
        level_from_working=pictures.level_from_working,
        orientation_deg=90 * turn.quarters,
        skew_deg=skew.skew_deg,
        skew_std_deg=skew.std_deg,
        rectified=flat.rectified,
        paper_mm_per_px=paper_mm_per_px(resolution, restored.pen_px),
        pen_px=restored.pen_px,
        warnings=(
            *((ONE_BIT_NOTE,) if page.one_bit else ()),
            *((TURNED_OVER,) if over else ()),
            *((BACK_SHOWS,) if has_mirrored_row(letters) else ()),
            *(() if restored.squares is None else (SQUARES_OFF if restored.squares.taken_off else SQUARES_LEFT,)),
            *_warnings(skew, turn.doubt, flat.proportion),
            *(() if bend is None else (bend_words(bend),)),
            *(() if flat.rectified else doubts_of_wholeness(flat.ink, flat.ruled)),
        ),
        evidence=() if flat.rectified else (*_sizes(resolution, restored), *_squares(resolution, restored.squares)),
        bend=bend,
        proportion=flat.proportion,
        one_bit=page.one_bit,
        turned_over=over,
    )
    return replace(sheet, other_ink=tuple(_carried(sheet, mark) for mark in restored.other_ink))


def _carried(sheet: LevelSheet, mark: OtherInk) -> OtherInk:
    """A mark of the source in level pixels."""
    (left, top), (right, bottom) = mark.least_px, mark.most_px
    corners = sheet.flat_points(np.array([(left, top), (right, top), (right, bottom), (left, bottom)]))
    (x0, y0), (x1, y1) = corners.min(axis=0).tolist(), corners.max(axis=0).tolist()
    return replace(mark, least_px=(x0, y0), most_px=(x1, y1))


@dataclass(frozen=True)
class Levelled:
    """Grey and ink with the fine skew taken out, the skew, and the way there."""

    grey: GreyImage
    ink: InkImage
    skew: Skew
    level_from_flat: FloatArray


def _levelled(flat: Flat, pen_px: float) -> Levelled:
    skew = _told_from_none(combined_skew(flat.ruled), flat.grey.shape)
    level_from_flat, size = levelling(flat.grey.shape[0], flat.grey.shape[1], skew.skew_deg)
    if not skew.skew_deg:
        return Levelled(flat.grey, flat.ink, skew, level_from_flat)
    return Levelled(*moved(flat.grey, flat.ink, level_from_flat, size, pen_px), skew, level_from_flat)


@dataclass(frozen=True)
class Pictures:
    """Grey and ink in the working frame and in the level one, and the way from one to the other."""

    working: tuple[GreyImage, InkImage]
    level: tuple[GreyImage, InkImage]
    level_from_working: FloatArray
    working_from_flat: FloatArray


def _upright(flat: Flat, level: tuple[GreyImage, InkImage], level_from_flat: FloatArray, quarters: int) -> Pictures:
    working = quarter_turned(flat.grey, quarters), quarter_turned(flat.ink, quarters)
    turned = quarter_turned(level[0], quarters), quarter_turned(level[1], quarters)
    turn = quarter_turn(flat.grey.shape[0], flat.grey.shape[1], quarters)
    return Pictures(working, turned, level_from_flat @ np.linalg.inv(turn), turn)


def _unbent(flat: Flat, bend: Bend, level_from_flat: FloatArray, size: tuple[int, int], pen_px: float) -> Pictures:
    """The sheet as it would lie flat: bowed lines are no lines to whoever looks for a frame, a table or a hatching."""
    flat_from_level = np.asarray(np.linalg.inv(level_from_flat), np.float64)
    unbent = moved_along(
        flat.grey, flat.ink, lambda places: apply_homography(flat_from_level, bend.bent(places)), size, pen_px
    )
    return Pictures(unbent, unbent, np.eye(3), level_from_flat)


def _told_from_none(skew: Skew, shape: tuple[int, ...]) -> Skew:
    """No skew where it moves nothing: the map that freed a photograph of its perspective has made its lines level."""
    moves_px = math.radians(abs(skew.skew_deg)) * max(shape)
    return replace(skew, skew_deg=0.0) if moves_px < LEAST_MOVED_PX else skew


def _bend(
    page: PageImage, flat: Flat, level_from_flat: FloatArray, size: tuple[int, int], pen_px: float
) -> Bend | None:
    """How the sheet bends, in level pixels."""
    bars = [bars.mapped(level_from_flat) for bars in (flat.ruled.level, flat.ruled.upright)]
    if abs(level_from_flat[0, 0]) < abs(level_from_flat[0, 1]):
        bars.reverse()
    source_from_level = np.linalg.inv(level_from_flat @ flat.matrix).astype(np.float64)
    eye = Eye(*eye_over(source_from_level, page.pixels.shape, page.focus))
    return find_bend(bars[0], bars[1], size, pen_px, eye)


def _upright_resolution(resolution: Resolution, quarters: int) -> Resolution:
    return turned(resolution) if quarters % 2 else resolution


def _sizes(resolution: Resolution, restored: Restored) -> tuple[str, ...]:
    quad, (height, width) = restored.sheet_quad_px, restored.ink.shape
    if quad is None or not has_parallel_sides(quad):
        return size_evidence(resolution, (float(width), float(height)), restored.pen_px, of_paper=False)
    return size_evidence(resolution, quad_sides_px(quad), restored.pen_px, of_paper=True)


def _squares(resolution: Resolution, squares: Squares | None) -> tuple[str, ...]:
    """What the squares of the paper measure at a resolution that is known."""
    if squares is None or resolution.x_dpi is None or resolution.y_dpi is None:
        return ()
    sides_mm = MM_PER_INCH * squares.width_px / resolution.x_dpi, MM_PER_INCH * squares.height_px / resolution.y_dpi
    return ("the paper's ruled squares measure {:.2f} x {:.2f} mm".format(*sides_mm),)


def _warnings(skew: Skew, turn_doubt: str | None, proportion: Proportion | None) -> tuple[str, ...]:
    doubts = []
    if proportion is not None:
        doubts.append(PERSPECTIVE_NOTE.format(percent=100 * proportion.std, note=proportion.note))
    if turn_doubt:
        doubts.append(turn_doubt)
    if skew.bar_count == 0:
        doubts.append("No long straight lines were found: how far the sheet lies askew can't be told; it is left so.")
    elif skew.std_deg > UNSURE_SKEW_DEG:
        doubts.append(f"The long lines disagree among themselves; the skew is good to {skew.std_deg:.2f} degrees only.")
    if skew.out_of_square is not None:
        shear, std = (abs(part) for part in skew.out_of_square)
        if shear > max(LARGEST_SHEAR_DEG, SHEAR_STDS * std):
            doubts.append(
                f"Level and upright lines are {shear:.2f} degrees off square: scan or paper is sheared, or they were"
                " ruled so."
            )
    return tuple(doubts)
