"""Arrows that were taken for lettering are strokes again; letters stay lettering."""

import numpy as np
import pytest

from digitize.lettering.text import Lettering, TextBlock
from digitize.strokes.heads.arrows_in_lettering import freed_of_arrows
from digitize.strokes.trace import trace_strokes
from tests.digitize.strokes.drawn import Picture, barbs, sheet_of


def _freed(picture: Picture) -> np.ndarray:
    """Ink that is lettering no more, where all of a picture was taken for it."""
    sheet = picture.sheet(4.0)
    return np.asarray(sheet.ink & ~freed_of_arrows(sheet, Lettering((), sheet.ink)).mask)


@pytest.mark.parametrize("angle", [0.0, 90.0, 215.0])
@pytest.mark.parametrize("form", ["filled", "open"])
def test_an_arrow_among_lettering_is_a_stroke_with_a_head(angle: float, form: str) -> None:
    c, s = np.cos(np.radians(angle)), -np.sin(np.radians(angle))
    tip = (150 + 60 * c, 150 + 60 * s)
    picture = Picture(300, 300).line((150 - 60 * c, 150 - 60 * s), tip)
    picture = picture.head(tip, angle) if form == "filled" else picture.open_head(tip, angle)
    sheet = picture.sheet(4.0)
    strokes = trace_strokes(sheet, freed_of_arrows(sheet, Lettering((), sheet.ink)).mask)
    (head,) = strokes.arrowheads
    assert np.hypot(head.tip[0] - tip[0], head.tip[1] - tip[1]) < 2.5
    assert len(strokes.lines) == 1


def test_a_piece_of_the_edge_may_hang_on_the_tip() -> None:
    picture = Picture(300, 120).line((60, 60), (200, 60)).head((200, 60), 0.0).line((204, 60), (204, 80), 7.0)
    assert _freed(picture).any()


@pytest.mark.parametrize("at_a_stroke", [True, False])
def test_an_arrow_that_its_figure_cuts_short_is_one_only_where_it_points_at_a_stroke(at_a_stroke: bool) -> None:
    """A head of 36 px with 12 px of shaft."""
    picture = Picture(300, 120).line((152, 60), (200, 60)).head((200, 60), 0.0)
    if at_a_stroke:
        picture.line((204, 20), (204, 100), 4.0)
    sheet = picture.sheet(4.0)
    taken = sheet.ink.copy()
    taken[:, 202:] = False
    freed = freed_of_arrows(sheet, Lettering((), taken)).mask
    assert (taken & ~freed).any() == at_a_stroke


@pytest.mark.parametrize("shaft", [True, False], ids=["its shaft behind a gap", "no shaft"])
@pytest.mark.parametrize("form", ["filled", "open"])
def test_a_head_on_a_piece_of_its_stroke_is_no_letter_where_its_shaft_goes_on(form: str, shaft: bool) -> None:
    picture = Picture(300, 200).line((150, 100), (186, 100)).line((186, 70), (186, 120))
    picture = picture.head((186, 100), 0.0) if form == "filled" else picture.open_head((186, 100), 0.0)
    if shaft:
        picture.line((60, 100), (138, 100))
    sheet = picture.sheet(4.0)
    blot = sheet.ink.copy()
    blot[:, :144] = False
    freed = freed_of_arrows(sheet, Lettering((), sheet.ink)).mask
    assert (blot & ~freed).any() == shaft


def test_letters_on_a_bar_are_no_heads_whatever_stands_behind_them() -> None:
    picture = Picture(600, 200).line((20, 100), (60, 100))
    picture.line((80, 100), (130, 100)).line((130, 70), (130, 130)).line((145, 100), (185, 100))  # T on its side
    picture.line((200, 70), (250, 100)).line((200, 130), (250, 100)).line((250, 70), (250, 130))  # A with a bar
    assert not _freed(picture).any()


def test_letters_are_no_arrows() -> None:
    picture = Picture(500, 120)
    picture.line((30, 30), (30, 90)).line((30, 30), (20, 42))  # 1
    picture.line((70, 90), (70, 60)).line((70, 60), (50, 30)).line((70, 60), (90, 30))  # Y
    picture.line((110, 90), (130, 30)).line((130, 30), (150, 90)).line((118, 70), (142, 70))  # A
    picture.line((180, 30), (180, 90)).line((160, 30), (200, 30))  # T
    picture.line((220, 30), (240, 90)).line((240, 90), (260, 30))  # V
    picture.line((300, 30), (300, 90)).line((290, 45), (310, 45))  # t
    picture.line((340, 90), (360, 30)).line((360, 30), (330, 30))  # 7
    picture.line((400, 30), (400, 90)).line((390, 30), (410, 30)).line((390, 90), (410, 90))  # I
    picture.line((440, 90), (440, 30)).line((440, 70), (425, 55)).line((440, 70), (455, 55))  # a down stroke, barbed
    assert not _freed(picture).any()


def test_a_block_ends_where_its_figure_does_and_one_of_an_arrow_alone_is_gone() -> None:
    """A figure with an arrow beside it in one block, read up the sheet, and a block that is an arrow."""
    picture = Picture(300, 400).line((60, 380), (60, 250)).head((60, 250), 90.0)
    picture.line((50, 60), (80, 60)).line((50, 60), (50, 85)).line((200, 60), (200, 200)).head((200, 60), 90.0)
    sheet = picture.sheet(4.0)
    figure = TextBlock(((45.0, 390.0), (45.0, 50.0), (90.0, 50.0), (90.0, 390.0)), 90.0, 30.0)
    alone = TextBlock(((185.0, 50.0), (215.0, 50.0), (215.0, 210.0), (185.0, 210.0)), 0.0, 30.0)
    freed = freed_of_arrows(sheet, Lettering((figure, alone), sheet.ink, (alone,)))
    (block,) = freed.blocks
    corners = [(48.5, 86.5), (48.5, 58.5), (81.5, 58.5), (81.5, 86.5)]
    assert np.array(block.quad) == pytest.approx(np.array(corners), abs=1.5)
    assert freed.rivals == ()
    assert freed.mask.any()
    assert not freed.mask[:, 180:].any()


def test_a_block_that_is_no_pixel_wide_has_axes_too() -> None:
    """A lone stroke on a small plate; warnings are errors."""
    picture = Picture(300, 300).line((60, 200), (160, 200)).head((160, 200), 0.0)
    sheet = picture.sheet(4.0)
    stroke = TextBlock(((150.0, 210.0), (150.0, 190.0), (150.0, 190.0), (150.0, 210.0)), 90.0, 20.0)
    assert freed_of_arrows(sheet, Lettering((stroke,), sheet.ink)).mask.sum() < sheet.ink.sum()


@pytest.mark.parametrize("slim", [1.8, 2.0])
def test_an_open_head_cut_from_its_shaft_may_be_wide(slim: float) -> None:
    """A head of 20 px at 200 dpi between a stroke and its shaft; it alone was taken for lettering."""
    left, right = barbs((200, 100), 0.0, 20.0, slim)
    picture = Picture(300, 200).line((180, 100), (200, 100), 2.4).line((200, 100), left, 2.4)
    picture.line((200, 100), right, 2.4).line((60, 100), (174, 100), 2.4).line((204, 40), (204, 160), 2.4)
    sheet = sheet_of(picture.grey(4.0), 25.4 / 200)
    taken = sheet.ink.copy()
    taken[:, :176] = taken[:, 202:] = False
    assert (taken & ~freed_of_arrows(sheet, Lettering((), taken)).mask).any()
