"""Small drawings whose strokes have one plain purpose each."""

from dataclasses import replace

import numpy as np
import pytest

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.gearing.roundness import Squeeze, round_from_working
from digitize.strokes.heads.head import Head
from digitize.strokes.page import Page
from digitize.strokes.pieces import Piece
from digitize.strokes.primitives import Dash, Line, Role, Strokes
from digitize.strokes.roles.roles import give_roles
from digitize.strokes.trace import trace_strokes
from digitize.strokes.tracks import Track
from digitize.strokes.widths import pens_of
from tests.digitize.strokes.drawn import Picture, sheet_of


def block(picture: Picture, left: float, top: float, right: float, bottom: float, width: float = 6.0) -> Picture:
    picture.line((left, top), (right, top), width).line((right, top), (right, bottom), width)
    return picture.line((right, bottom), (left, bottom), width).line((left, bottom), (left, top), width)


def traced(picture: Picture, lettering: tuple[int, int, int, int] | None = None) -> Strokes:
    mask = picture.no_lettering()
    if lettering is not None:
        left, top, right, bottom = lettering
        picture.cover[top:bottom:3, left:right] = 1.0
        mask[top:bottom:3, left:right] = True
    return trace_strokes(picture.sheet(3.0), mask)


def dimensioned(gap: bool) -> Strokes:
    """A block with one dimension below it, broken for its figure or not."""
    picture = block(Picture(560, 420), 100, 80, 460, 260)
    for x in (100.0, 460.0):
        picture.line((x, 276), (x, 372), 2.5)
    if gap:
        picture.line((100, 350), (250, 350), 2.5).line((310, 350), (460, 350), 2.5)
    else:
        picture.line((100, 350), (460, 350), 2.5)
    picture.head((100, 350), 180.0).head((460, 350), 0.0)
    return traced(picture, (262, 338, 298, 362) if gap else (262, 316, 298, 338))


def of_role(strokes: Strokes, role: Role) -> list[Line]:
    return [line for line in strokes.lines if line.role == role]


@pytest.mark.parametrize("gap", [True, False], ids=["broken for its figure", "figure above"])
def test_a_dimension_line_is_one_line_between_its_extension_lines(gap: bool) -> None:
    strokes = dimensioned(gap)
    (dimension,) = of_role(strokes, Role.DIMENSION)
    assert dimension.start == pytest.approx((100, 350), abs=0.6)
    assert dimension.end == pytest.approx((460, 350), abs=0.6)
    assert len(of_role(strokes, Role.EXTENSION)) == 2
    assert len(of_role(strokes, Role.VISIBLE)) == 4
    number = strokes.lines.index(dimension)
    assert [head.line for head in strokes.arrowheads] == [number, number]


@pytest.mark.parametrize("figure", [True, False], ids=["a figure in its gap", "a bare gap"])
@pytest.mark.parametrize("behind", [320, 272], ids=["wide", "hardly wider than the others"])
def test_a_dashed_line_broken_for_a_figure_is_no_hidden_edge(figure: bool, behind: int) -> None:
    picture = block(Picture(560, 420), 100, 80, 460, 260)
    for x in [*range(104, 240, 22), *range(behind, 450, 22)]:
        picture.line((x, 170), (x + 14, 170), 2.5)
    strokes = traced(picture, (254, 158, behind - 6, 182) if figure else None)
    inside = [line for line in strokes.lines if abs(line.start[1] - 170) < 2 and abs(line.end[1] - 170) < 2]
    assert inside
    assert {line.role for line in inside} == {Role.DIMENSION if figure else Role.HIDDEN}


def test_dimension_and_extension_lines_belong_to_the_view_they_touch() -> None:
    strokes = dimensioned(gap=True)
    assert [view.id for view in strokes.views] == ["A"]
    assert {line.view for line in strokes.lines} == {"A"}


def test_a_gap_without_a_figure_leaves_two_lines() -> None:
    picture = Picture(560, 120).line((60, 60), (200, 60), 2.5).line((360, 60), (500, 60), 2.5)
    picture.head((60, 60), 180.0).head((500, 60), 0.0)
    assert len(traced(picture).lines) == 2


def test_section_lines_centre_line_and_hidden_line() -> None:
    picture = block(Picture(520, 360), 60, 60, 460, 240)
    for k in range(1, 20):
        a = 24.0 * k
        picture.line((60 + max(0.0, a - 90), 60 + min(a, 90)), (60 + min(a, 400), 60 + max(0.0, a - 400)), 2.4)
    picture.line((60, 150), (460, 150), 6.0)
    picture.broken((60, 200), (460, 200), [36, 11], 4.2)
    picture.broken((20, 300), (500, 300), [120, 16, 28, 16], 2.4)
    strokes = traced(picture)
    assert len(of_role(strokes, Role.HATCH)) >= 16
    assert len(of_role(strokes, Role.HIDDEN)) == 1
    assert len(of_role(strokes, Role.CENTRE)) == 1
    assert len(of_role(strokes, Role.VISIBLE)) == 5


def test_an_edge_that_looks_like_a_head_on_a_section_line_is_none() -> None:
    tracks = [Track(LINE, 20.0, 40.0 * n + 20.0, np.sqrt(0.5), np.sqrt(0.5)) for n in range(6)]
    pieces = [Piece(t, 0.0, 100.0, 3.0, 0.1, (), ((t.point(0.0), t.point(50.0), t.point(100.0)),)) for t in tracks]
    c = np.sqrt(0.5)
    on_hatch = Head(*tracks[2].point(100.0), c, c, 12.0, 4.0, "open", 2, 100.0, 0.1)
    elsewhere = replace(on_hatch, x=300.0, y=20.0, piece=-1)
    page, _ = give_roles(Page(Picture(400, 400).ground(), pieces, [on_hatch, elsewhere], 0.0))
    assert set(page.roles) == {Role.HATCH}
    assert page.heads == [elsewhere]


def test_a_leader_with_its_shoulder() -> None:
    picture = Picture(420, 320).arc((130, 180), 80.0, width=6.0)
    tip = (130 + 80 * np.cos(np.radians(-40)), 180 + 80 * np.sin(np.radians(-40)))
    picture.line(tip, (290, 60), 2.5).line((290, 60), (340, 60), 2.5)
    angle = float(np.degrees(np.arctan2(60 - tip[1], tip[0] - 290)))
    strokes = traced(picture.head(tip, angle))
    assert len(of_role(strokes, Role.LEADER)) == 2


def test_frame_and_table() -> None:
    picture = block(Picture(900, 640), 30, 30, 870, 610, 8.0)
    block(picture, 560, 60, 840, 220, 2.5)
    for y in (100, 140, 180):
        picture.line((560, y), (840, y), 2.5)
    picture.line((700, 100), (700, 220), 2.5)
    block(picture, 100, 300, 400, 520)
    strokes = traced(picture, (580, 70, 680, 92))
    assert len(of_role(strokes, Role.BORDER)) == 4
    assert len(of_role(strokes, Role.TABLE)) == 8
    assert [(view.id, view.kind) for view in strokes.views] == [("A", "view"), ("T1", "table")]


def test_sides_and_a_rule_that_damage_has_parted_belong_to_frame_and_table() -> None:
    """Bottom and left side have gaps of 20 px, and a rule of the title block ends 12 px short of its wall."""
    picture = block(Picture(900, 640), 20, 20, 880, 620, 8.0)
    picture.cover[610:630, 300:320] = 0.0
    picture.cover[200:220, 10:30] = 0.0
    picture.cover[420:440, 10:30] = 0.0
    picture.line((600, 460), (880, 460), 2.5).line((600, 460), (600, 620), 2.5)
    picture.line((600, 500), (880, 500), 2.5).line((612, 540), (880, 540), 2.5).line((600, 580), (880, 580), 2.5)
    strokes = traced(picture, (620, 468, 760, 492))
    assert len(of_role(strokes, Role.BORDER)) == 7
    assert len(of_role(strokes, Role.TABLE)) == 5
    assert not of_role(strokes, Role.VISIBLE)


def test_a_rule_that_dropouts_have_dashed_is_one_of_the_title_blocks() -> None:
    picture = block(Picture(900, 640), 20, 20, 880, 620, 8.0)
    picture.line((600, 460), (880, 460), 2.5).line((600, 460), (600, 620), 2.5)
    for y in (500, 540, 580):
        picture.line((600, y), (880, y), 2.5)
    for x in range(612, 860, 36):
        picture.cover[535:545, x : x + 12] = 0.0
    strokes = traced(picture, (620, 468, 760, 492))
    (broken,) = (line for line in strokes.lines if line.dash is not Dash.SOLID)
    assert broken.role is Role.TABLE
    assert [view.kind for view in strokes.views] == ["title_block"]


def test_dropouts_make_no_dashes_of_a_side_and_part_no_rule_from_its_table() -> None:
    """Between its first two gaps a short piece of the side is left; a part of a rule is left in short pieces."""
    picture = block(Picture(1400, 640), 20, 20, 1380, 620, 5.0)
    picture.cover[10:30, 500:505] = picture.cover[10:30, 540:545] = 0.0
    picture.line((1100, 460), (1380, 460), 2.5).line((1100, 460), (1100, 620), 2.5)
    picture.line((1100, 500), (1380, 500), 2.5).line((1100, 580), (1380, 580), 2.5)
    picture.line((1100, 540), (1136, 540), 2.5).broken((1150, 540), (1330, 540), [24, 6], 2.5)
    picture.line((1344, 540), (1380, 540), 2.5)
    strokes = traced(picture, (1120, 468, 1260, 492))
    assert {line.role for line in strokes.lines} == {Role.BORDER, Role.TABLE}


def test_a_rule_parted_from_its_table_at_both_corners_is_one_of_its_rules() -> None:
    """The upper rule is 20 px short of both walls, which end with it; a row of lettering stands below it."""
    picture = block(Picture(900, 640), 30, 30, 870, 610, 8.0)
    for y in (480, 520, 560):
        picture.line((560, y), (866, y), 2.5)
    picture.line((560, 480), (560, 606), 2.5).line((700, 520), (700, 606), 2.5)
    picture.line((580, 440), (846, 440), 6.0)
    block(picture, 100, 300, 400, 520)
    mask = picture.no_lettering()
    for top in (450, 490):
        picture.cover[top : top + 22 : 3, 580:840] = 1.0
        mask[top : top + 22 : 3, 580:840] = True
    strokes = trace_strokes(picture.sheet(3.0), mask)
    assert not [line for line in of_role(strokes, Role.VISIBLE) if line.end[0] > 450]


def test_rules_of_two_tables_in_line_are_rules_though_taken_for_one_broken_line() -> None:
    picture = block(Picture(1100, 640), 30, 30, 1070, 610, 8.0)
    for left in (200, 600):
        block(picture, left, 60, left + 390, 220, 2.5)
        for y in (100, 180):
            picture.line((left, y), (left + 390, y), 2.5)
        picture.line((left + 140, 100), (left + 140, 220), 2.5)
    for left in (214, 614):
        picture.broken((left, 140), (left + 362, 140), [60, 38], 2.5)
    mask = picture.no_lettering()
    for left in (220, 620):
        picture.cover[70:92:3, left : left + 100] = 1.0
        mask[70:92:3, left : left + 100] = True
    strokes = trace_strokes(picture.sheet(3.0), mask)
    assert {line.role for line in strokes.lines if abs(line.start[1] - 140) < 2 and abs(line.end[1] - 140) < 2} == {
        Role.TABLE
    }


def test_shadows_beyond_the_frame_part_no_pens() -> None:
    """Two shadows along the edge of the paper, four times as wide as an edge: edges stay the thick pen."""
    picture = block(Picture(900, 640), 60, 60, 840, 580, 6.0)
    picture.line((20, 20), (880, 20), 24.0).line((20, 40), (20, 600), 24.0)
    block(picture, 200, 200, 500, 400, 6.0)
    for x in (200.0, 500.0):
        picture.line((x, 414), (x, 470), 2.5)
    picture.line((200, 450), (500, 450), 2.5).head((200, 450), 180.0).head((500, 450), 0.0)
    assert len(of_role(traced(picture), Role.VISIBLE)) == 4


def test_two_views_are_named_from_the_top_left() -> None:
    picture = block(Picture(700, 300), 60, 60, 240, 220)
    strokes = traced(block(picture, 400, 60, 620, 220))
    assert [view.id for view in strokes.views] == ["A", "B"]
    assert {line.view for line in strokes.lines if line.start[0] > 300} == {"B"}
    assert strokes.views[0].box == pytest.approx((60, 60, 240, 220), abs=0.5)


def test_a_lone_edge_that_extension_lines_lead_to_is_of_the_view_behind_them() -> None:
    """The sides between the lone edge and the block are thin: they were traced as one with the extension lines."""
    picture = block(Picture(560, 420), 100, 200, 460, 340).line((100, 130), (460, 130), 6.0)
    for x in (100.0, 460.0):
        picture.line((x, 40), (x, 200), 2.5)
    strokes = traced(picture.line((100, 60), (460, 60), 2.5).head((100, 60), 180.0).head((460, 60), 0.0))
    assert len(of_role(strokes, Role.EXTENSION)) == 2
    (view,) = strokes.views
    assert view.box == pytest.approx((100, 130, 460, 340), abs=0.6)


def test_a_frame_that_damage_has_cut_at_all_corners_is_told_by_its_four_sides() -> None:
    picture = Picture(900, 640).line((180, 30), (840, 30), 6.0).line((60, 610), (650, 610), 6.0)
    picture.line((30, 60), (30, 520), 6.0).line((870, 140), (870, 590), 6.0)
    strokes = traced(block(picture, 300, 200, 500, 400))
    assert len(of_role(strokes, Role.BORDER)) == 4
    assert [(view.id, view.kind) for view in strokes.views] == [("A", "view")]


def test_three_long_edges_that_do_not_meet_are_no_frame() -> None:
    picture = Picture(900, 640).line((180, 30), (840, 30), 6.0).line((60, 610), (650, 610), 6.0)
    picture.line((30, 60), (30, 520), 6.0)
    assert not of_role(traced(block(picture, 300, 200, 500, 400)), Role.BORDER)


def test_edges_of_the_paper_beyond_the_frame_are_no_view() -> None:
    picture = block(Picture(900, 640), 50, 50, 850, 590, 5.0)
    for (x0, y0), (x1, y1) in (
        ((60, 8), (840, 12)),
        ((892, 60), (890, 590)),
        ((840, 630), (60, 632)),
        ((8, 590), (8, 60)),
    ):
        picture.line((x0, y0), (x1, y1), 9.0)
    strokes = traced(block(picture, 200, 200, 500, 400))
    assert len(of_role(strokes, Role.BORDER)) == 8
    assert [view.box for view in strokes.views] == [pytest.approx((200, 200, 500, 400), abs=0.6)]


def test_rims_of_punched_holes_beside_the_frame_leave_no_strokes() -> None:
    """A punch of ISO 838 is 6 mm wide, 35 px in radius here (from memory)."""
    picture = block(Picture(900, 640), 100, 50, 850, 590, 5.0)
    for y in (200.0, 400.0):
        picture.arc((58.0, y), 35.0, 30.0, 130.0)
    strokes = traced(block(picture, 300, 200, 600, 400).arc((450.0, 300.0), 35.0))
    assert [arc.centre for arc in strokes.arcs] == [pytest.approx((450.0, 300.0), abs=0.1)]
    assert len(of_role(strokes, Role.BORDER)) == 4


def test_one_pen_has_no_parting_width() -> None:
    widths = np.array([3.0, 3.1, 2.9, 3.05])
    assert pens_of(widths, np.full(4, 100.0)).parting is None
    assert pens_of(np.array([]), np.array([])).parting is None


def test_circles_squeezed_by_the_paper_come_out_whole_and_say_by_how_much() -> None:
    """Paper that shrank 1.1 % more across than along: drawn at four times the size and sampled at uneven steps."""
    squeeze = 0.011
    x, y = np.meshgrid(np.arange(600.0), np.arange(600.0))
    stretch = np.sqrt(1 + squeeze)
    distance = np.full_like(x, np.inf)
    for radius in (90.0, 160.0, 250.0):
        # distance to an ellipse that is nearly a circle, to first order
        level = np.hypot((x - 300) * stretch, (y - 300) / stretch)
        slope = np.hypot((x - 300) * stretch**2, (y - 300) / stretch**2) / np.maximum(level, 1e-9)
        distance = np.minimum(distance, np.abs(level - radius) / np.maximum(slope, 1e-9))
    cover = np.clip(2.5 + 0.5 - distance, 0, 1)
    sheet = sheet_of(np.rint(250 - 240 * cover).astype(np.uint8))
    strokes = trace_strokes(sheet, np.zeros((600, 600), bool))
    assert [arc.sweep_deg for arc in strokes.arcs] == [360.0] * 3
    assert sorted(arc.radius_px for arc in strokes.arcs) == pytest.approx([90, 160, 250], abs=0.1)
    assert strokes.squeeze == pytest.approx(squeeze, abs=0.0005)
    assert abs(strokes.squeeze - squeeze) < 5 * strokes.squeeze_std + 1e-4


def test_round_circles_claim_no_squeeze() -> None:
    """What a compass may be out of round (.05 px) is .001 of a circle of 100 px over both axes, hardly more remains."""
    strokes = traced(Picture(300, 300).arc((150, 150), 100.0, width=5.0))
    assert strokes.squeeze == 0.0
    assert strokes.squeeze_std < 0.0011
    assert np.array_equal(round_from_working(Squeeze(), 10.0), np.eye(2))


def test_with_one_pen_an_edge_that_an_arrow_touches_stays_an_edge() -> None:
    """A dimension line between two edges of a part whose extension lines are as wide as they are."""
    corners = [(100.0, 340.0), (100.0, 140.0), (280.0, 80.0), (460.0, 140.0), (460.0, 340.0), (280.0, 380.0)]
    picture = Picture(560, 460)
    for start, end in zip(corners, [*corners[1:], corners[0]], strict=True):
        picture.line(start, end)
    picture.line((100, 300), (460, 300)).head((100, 300), 180.0).head((460, 300), 0.0)
    strokes = traced(picture)
    assert len(of_role(strokes, Role.VISIBLE)) == 6
    assert len(of_role(strokes, Role.DIMENSION)) == 1
    assert not of_role(strokes, Role.EXTENSION)


def test_with_one_pen_a_line_that_ends_free_past_an_arrow_is_an_extension_line() -> None:
    picture = block(Picture(560, 420), 100, 80, 460, 260, 3.0)
    for x in (100.0, 460.0):
        picture.line((x, 276), (x, 372))
    picture.line((100, 350), (460, 350)).head((100, 350), 180.0).head((460, 350), 0.0)
    assert len(of_role(traced(picture), Role.EXTENSION)) == 2


@pytest.mark.parametrize("figure", [True, False], ids=["a figure in its gap", "a bare gap"])
def test_a_chain_line_with_one_head_seen_is_a_dimension_line_where_a_figure_breaks_it(figure: bool) -> None:
    picture = block(Picture(760, 420), 100, 80, 660, 260)
    for x in (100.0, 660.0):
        picture.line((x, 276), (x, 372), 2.5)
    picture.broken((660, 350), (400, 350), [60, 9, 9, 9], 2.5).broken((330, 350), (100, 350), [60, 9, 9, 9], 2.5)
    picture.head((660, 350), 0.0)
    strokes = traced(picture, (345, 338, 385, 362) if figure else None)
    roles = {line.role for line in strokes.lines if abs(line.start[1] - 350) < 3 and abs(line.end[1] - 350) < 3}
    assert roles == ({Role.DIMENSION} if figure else {Role.CENTRE})


@pytest.mark.parametrize("figure", [True, False], ids=["a figure in its gap", "a bare gap"])
def test_dashes_behind_a_figure_carry_on_a_known_dimension_line(figure: bool) -> None:
    picture = block(Picture(760, 420), 100, 80, 660, 260)
    for x in (100.0, 660.0):
        picture.line((x, 276), (x, 372), 2.5)
    picture.line((660, 350), (400, 350), 2.5).broken((330, 350), (108, 350), [20, 9], 2.5).head((660, 350), 0.0)
    strokes = traced(picture, (345, 338, 385, 362) if figure else None)
    (dashes,) = (
        line
        for line in strokes.lines
        if line.end[0] < 340 and abs(line.start[1] - line.end[1]) < 3 and abs(line.start[1] - 350) < 3
    )
    assert dashes.role is (Role.DIMENSION if figure else Role.HIDDEN)


def test_a_leader_goes_on_below_its_head() -> None:
    """A thick line cuts it a little before its tip; the head's ink makes the rest as broad as an edge."""

    def line(start: tuple[float, float], end: tuple[float, float], width: float) -> Piece:
        length = float(np.hypot(end[0] - start[0], end[1] - start[1]))
        track = Track(LINE, *start, (end[0] - start[0]) / length, (end[1] - start[1]) / length)
        return Piece(track, 0.0, length, width, 0.1, (), ((start, track.point(length / 2), end),))

    edges = [line((40.0, y), (360.0, y), 6.0) for y in (200.0, 240.0)]
    others = [line((20.0 + 30 * n, 300.0), (20.0 + 30 * n, 380.0), 2.0) for n in range(4)]
    leader, below = line((100.0, 40.0), (100.0, 198.0), 2.0), line((100.0, 202.0), (100.0, 237.0), 5.0)
    head = Head(100.0, 237.0, 0.0, 1.0, 26.0, 5.0, "filled", 2, 197.0, 0.1)
    page, _ = give_roles(Page(Picture(400, 400).ground(), [*edges, leader, below, *others], [head], 0.0))
    assert page.roles[2] is page.roles[3]
    assert page.roles[2] in (Role.LEADER, Role.DIMENSION)
    assert page.roles[:2] == [Role.VISIBLE, Role.VISIBLE]
