"""A page image becomes dark ink on light, even paper."""

import cv2
import numpy as np

from calibrate.errors import InputError
from calibrate.restoring.faint import add_fine_lines
from calibrate.restoring.flatten import doubted, evened, global_peak, local_paper, local_peak
from calibrate.restoring.holes import disc_in, find_holes
from calibrate.restoring.moving import PAPER, ink_of
from calibrate.restoring.other_ink import other_ink
from calibrate.restoring.outside import find_outside
from calibrate.restoring.pen import PenWidths, pen_widths
from calibrate.restoring.polarity import best_grey, polarity_of
from calibrate.restoring.specks import without_specks
from calibrate.restoring.squares import without_squares
from calibrate.several import CUT_APART, places
from calibrate.sheet import GreyImage, InkImage, PageImage, Polarity, Restored

SEVERAL = "{name}: The picture shows {count} sheets, at {places} in pixels; " + CUT_APART + "."
FALLBACK_PEN_PX = 3.0
"""Where no pen line is found at all."""


def restore(page: PageImage) -> Restored:
    """Even out the light, choose ink and paper, take away what is not on the sheet.

    Parameters
    ----------
    page : PageImage

    Returns
    -------
    Restored

    Raises
    ------
    InputError
        Where several sheets lie apart in the picture.
    """
    grey = best_grey(page.pixels)
    polarity = polarity_of(grey)
    if polarity is Polarity.LIGHT_ON_DARK:
        grey = np.asarray(cv2.bitwise_not(grey), np.uint8)
    outside = find_outside(page.pixels, grey)
    if len(outside.sheets_px) > 1:
        raise InputError(
            SEVERAL.format(name=page.path.name, count=len(outside.sheets_px), places=places(outside.sheets_px))
        )
    level_grey, squares = without_squares(even_grey(grey, outside.mask), one_bit=page.one_bit)
    ink = ink_of(level_grey)
    pens = pen_widths(level_grey, ink) or PenWidths(FALLBACK_PEN_PX, FALLBACK_PEN_PX)
    pen_px = pens.modal_px
    ink = add_fine_lines(level_grey, ink, pen_px)
    for left, top, right, bottom in find_holes(ink, pen_px):
        hole = np.s_[top:bottom, left:right]
        disc = disc_in(ink[hole].shape)
        level_grey[hole][disc] = PAPER
        ink[hole][disc] = False
    ink = without_specks(ink, pens.finest_px)
    marks = other_ink(page.pixels, outside.mask)
    return Restored(level_grey, ink, polarity, outside.sheet_quad_px, pen_px, squares, marks)


def even_grey(grey: GreyImage, outside: InkImage | None) -> GreyImage:
    """Flatten the light of a picture with dark ink: paper near 255, full ink near 0, white outside the sheet.

    Parameters
    ----------
    grey : ndarray, uint8, shape (H, W)
    outside : ndarray, bool, shape (H, W), or None
        True off the sheet.
    """
    paper, steps = local_paper(grey)
    darkness = np.asarray(cv2.subtract(paper, grey, dst=paper), np.uint8)
    if outside is not None:
        darkness[outside] = 0
    peak = local_peak(darkness, global_peak(darkness))
    return evened(doubted(darkness, steps), peak)
