"""Pages that are no drawings: blank ones, text, photographs, noise.

A drawing that is turned away is worse than a page of text let through, so any page with a fair length of ruled lines
passes, and the rest only fails on plain signs. The limits lie well apart from what ten real plates and a few dozen
drawn sheets show on one side and photographs, text pages and noise on the other.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from calibrate.errors import InputError
from calibrate.restoring.connected import pieces_of
from calibrate.restoring.polarity import best_grey
from calibrate.sheet import GreyImage, PageImage, Polarity, Restored
from calibrate.straightening.letters import letter_sized
from calibrate.straightening.skew import Ruled

ENOUGH_RULED = 1.5
"""Length of all long straight lines over the page's longer side, from which the page is a drawing whatever else."""
UNDERLINED = 0.8
DOT_PENS, OUTLINE_PENS, FIGURE_PENS = 5.0, 20.0, 40.0
"""Pieces shorter than the first are dots and specks, broader than the second outlines, longer than the third parts of
figures."""
MOST_PIECES_OF_BLANK, DOTS_ALONE = 2, 0.95
"""A page without drawing has no more pieces than the first, or at least the second share of its ink in dots."""
NOISE_DOT_SHARE, MOST_FIGURE_SHARE = 0.3, 0.1
NOISE_INK_SHARE = 0.02
"""Ink in dots alone: above this the page is noise, below it is blank but for dirt."""
TEXT_LETTER_SHARE = 0.55
GRAIN_WINDOW, GRAIN_OF_NOISE = 5, 12.0
"""Grey levels by which the typical pixel strays from its neighbours; scans of paper show a few."""
MIDDLE_TONES = (64, 191)
MOST_MIDDLE_TONES = 1.2
"""Half-dark pixels over dark ones: the soft edges of drawn lines give 0.1 to 0.8, pictures in tones much more."""
TONE_LOOK_PX = 400
NEAR_WINDOW, WIDE_WINDOW = 9, 101
FAR_TONE, MOST_FAR_TONE = 0.2, 0.08
"""Part by which the near paper strays from the wide one, and the most of a drawing's page where it does."""
STEEP_TONE, MOST_STEEP_TONE = 12, 0.1
"""Grey levels by which near paper changes from one look pixel to the next, and the most of a page where it does."""

BLANK = "The page is blank; give the page that carries the drawing."
NOISE = "The page is noise without a drawn line; scan the print again."
PHOTOGRAPH = "The page is a photograph of things, not a drawing; give a scan of the print."
TEXT = "The page is text without a drawing; give the page that carries the drawing."


@dataclass(frozen=True)
class Pieces:
    """What a page's ink is made of: number of pieces that are not dots, shares of ink in dots, letters, figures.

    ``has_outline`` tells whether a piece is wide as well as high, as an outline is and a fold is not.
    """

    count: int
    dot_share: float
    letter_share: float
    figure_share: float
    has_outline: bool


def check_is_drawing(page: PageImage, restored: Restored, ruled: Ruled) -> None:
    """Turn away a page that is no drawing.

    Parameters
    ----------
    page : PageImage
    restored : Restored
        Of the page.
    ruled : Ruled
        Its long straight lines.

    Raises
    ------
    InputError
        One sentence: what the page is, and what to give instead.
    """
    length_px = ruled.level.length_px.sum() + ruled.upright.length_px.sum()
    reason = _reason(page, restored, float(length_px) / max(restored.ink.shape))
    if reason:
        raise InputError(f"{page.path.name}: {reason}")


def _reason(page: PageImage, restored: Restored, ruled: float) -> str | None:
    if ruled >= ENOUGH_RULED:
        return None
    pieces = pieces_by_size(restored)
    empty = pieces.count <= MOST_PIECES_OF_BLANK or pieces.dot_share >= DOTS_ALONE
    if empty and not pieces.has_outline and ruled < UNDERLINED:
        return PHOTOGRAPH if has_tones(page, restored.polarity) else _noise_or_blank(page, restored)
    if middle_tones(restored.grey) > MOST_MIDDLE_TONES or has_tones(page, restored.polarity):
        return PHOTOGRAPH
    drawn = pieces.figure_share >= MOST_FIGURE_SHARE or ruled >= UNDERLINED
    if pieces.letter_share >= TEXT_LETTER_SHARE and not drawn:
        return TEXT
    return _noise_or_blank(page, restored) if pieces.dot_share >= NOISE_DOT_SHARE and not drawn else None


def _noise_or_blank(page: PageImage, restored: Restored) -> str:
    grey = best_grey(page.pixels)
    grain = float(np.median(cv2.absdiff(grey, cv2.medianBlur(grey, GRAIN_WINDOW))))
    return NOISE if restored.ink.mean() >= NOISE_INK_SHARE or grain > GRAIN_OF_NOISE else BLANK


def pieces_by_size(restored: Restored) -> Pieces:
    """Sort a page's connected pieces of ink by size."""
    stats = pieces_of(restored.ink).stats
    area = stats[:, cv2.CC_STAT_AREA].astype(np.float64)
    extent = np.maximum(stats[:, cv2.CC_STAT_WIDTH], stats[:, cv2.CC_STAT_HEIGHT])
    dots, figures = extent < DOT_PENS * restored.pen_px, extent > FIGURE_PENS * restored.pen_px
    letters = letter_sized(stats, restored.pen_px)
    total = max(float(area.sum()), 1.0)
    in_dots, in_letters, in_figures = (float(area[chosen].sum()) / total for chosen in (dots, letters, figures))
    breadth = np.minimum(stats[1:, cv2.CC_STAT_WIDTH], stats[1:, cv2.CC_STAT_HEIGHT])
    has_outline = bool((breadth > OUTLINE_PENS * restored.pen_px).any())
    return Pieces(int(np.count_nonzero(~dots[1:])), in_dots, in_letters, in_figures, has_outline)


def middle_tones(grey: GreyImage) -> float:
    """Half-dark pixels over dark ones, on an evened grey."""
    dark = float(np.count_nonzero(grey <= MIDDLE_TONES[0]))
    middle = float(np.count_nonzero((grey > MIDDLE_TONES[0]) & (grey < MIDDLE_TONES[1])))
    return middle / max(dark, 1.0)


def has_tones(page: PageImage, polarity: Polarity) -> bool:
    """Tell whether the page's ground varies as no paper does, however uneven the light."""
    grey = best_grey(page.pixels)
    if polarity is Polarity.LIGHT_ON_DARK:
        grey = np.asarray(cv2.bitwise_not(grey), np.uint8)
    scale = min(1.0, TONE_LOOK_PX / max(grey.shape))
    lightest = cv2.dilate(grey, np.ones((5, 5), np.uint8))
    small = cv2.resize(lightest, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    near = cv2.medianBlur(small, NEAR_WINDOW)
    wide = cv2.medianBlur(near, WIDE_WINDOW).astype(np.float32)
    far = np.abs(near - wide) > FAR_TONE * wide
    steep = np.asarray(cv2.morphologyEx(near, cv2.MORPH_GRADIENT, np.ones((3, 3), np.uint8))) > STEEP_TONE
    return bool(far.mean() > MOST_FAR_TONE or steep.mean() > MOST_STEEP_TONE)
