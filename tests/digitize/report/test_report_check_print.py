"""The check print: marks, page, pictures."""

import json
import re
from dataclasses import replace
from html.parser import HTMLParser
from itertools import combinations
from pathlib import Path

import cv2
import numpy as np
import pypdfium2
import pytest
from hand_drawn import HEIGHT_PX, PX_PER_MM, WIDTH_PX, drawn_sheet, stepped_shaft
from test_report_write import doubtful_gear, results

from digitize.dimensions.table import BareLine, Lacking, State
from digitize.found import Found
from digitize.lettering.text import Unit
from digitize.redraw.solving.parted_views import WholeViews
from digitize.report import bare_marks
from digitize.report.check_print import marked, to_check_first, write_png
from digitize.report.marks import COLOURS, URGENCY, mark
from digitize.report.open_marks import COLOUR, REACH_MM
from digitize.report.picture import bounded, crop_upright
from digitize.report.write import write_results
from digitize.strokes.primitives import Role

QUAD = np.array([[100.0, 200.0], [180.0, 200.0], [180.0, 230.0], [100.0, 230.0]])


class Page(HTMLParser):
    """Collects what a page refers to, its ids, and tags left open."""

    VOID = ("meta", "img", "image", "path", "rect", "br", "link")

    def __init__(self, text: str) -> None:
        super().__init__()
        self.references: list[str] = []
        self.ids: list[str] = []
        self.open: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = {name: value or "" for name, value in attrs}
        self.references += [values[name] for name in ("href", "src", "xlink:href", "action", "data") if name in values]
        self.ids += [values["id"]] if "id" in values else []
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in self.VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        if tag not in self.VOID:
            assert self.open.pop() == tag


@pytest.fixture(scope="module")
def page_text(tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = tmp_path_factory.mktemp("page")
    results(doubtful_gear(), folder)
    return (folder / "check-print.html").read_text(encoding="utf-8")


def test_page_needs_no_network(page_text: str) -> None:
    page = Page(page_text)
    assert page.open == []
    assert all(reference.startswith(("#", "data:image/")) for reference in page.references)
    assert not re.search(r"url\(|@import|https?:", page_text)
    assert "<script" not in page_text


def test_rows_and_marks_lead_to_each_other(page_text: str) -> None:
    page = Page(page_text)
    targets = {reference[1:] for reference in page.references if reference.startswith("#")}
    assert targets <= set(page.ids)
    assert len(page.ids) == len(set(page.ids))
    assert {f"{kind}-C4.{n}" for kind in ("row", "mark") for n in range(1, 7)} <= targets


def test_what_is_read_can_not_break_the_page(tmp_path: Path) -> None:
    print_ = stepped_shaft()
    print_.dimensions[0] = replace(print_.dimensions[0], text='<script>alert("1")</script>', evidence=("<b>",))
    results(print_, tmp_path)
    text = (tmp_path / "check-print.html").read_text()
    assert "<script" not in text
    assert "&lt;script&gt;" in text


def test_doubtful_rows_come_first() -> None:
    order = [each.state for each in to_check_first(doubtful_gear().dimensions)]
    assert order == [State.DISPUTED, State.UNREAD, State.UNPROVEN]
    sure = doubtful_gear().dimensions[0]
    weak = replace(sure, confidence=0.9)
    assert to_check_first([sure, weak]) == [weak]
    against = replace(sure, id="Z9.9", confirmed_by="A. Reader", contradicted=True)
    assert to_check_first([sure, *doubtful_gear().dimensions, against])[0] is against


def luminance(colour: str) -> float:
    """Relative luminance after WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio after WCAG 2.2."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_text_contrast(page_text: str) -> None:
    """WCAG 2.2 AA asks 4.5 : 1 of text, on every ground that the page puts it on."""
    named = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", page_text))
    for text in ("ink", "soft", "link"):
        for ground in (named["paper"], named["ground"], "#e5edf7"):
            assert contrast(named[text], ground) >= 4.5, (text, ground)
    for state in (State.UNPROVEN, State.DISPUTED, State.UNREAD):
        assert contrast(COLOURS[state], named["paper"]) >= 3.0  # WCAG 1.4.11: graphics


def shape_of(state: State) -> tuple[int, bool, bool]:
    """Number of strokes, whether the first is closed, whether it lies under the figure alone."""
    paths = mark(QUAD, state).paths
    first = paths[0]
    return len(paths) > 1, bool(np.allclose(first[0], first[-1])), bool(first[:, 1].min() > QUAD[:, 1].max())


def test_marks_differ_by_shape() -> None:
    shapes = {state: shape_of(state) for state in State}
    assert all(shapes[one] != shapes[other] for one, other in combinations(State, 2))
    assert set(URGENCY) == set(State)


@pytest.mark.parametrize("state", list(State))
@pytest.mark.parametrize("to", [(-98.0, -195.0), (118.0, 168.0)])
def test_the_mark_of_a_figure_at_the_edge_is_seen_whole(state: State, to: tuple[float, float]) -> None:
    """An agreed figure on the lowest line of a plate had no mark at all."""
    own = mark(QUAD + to, state)
    moved = own.within((400, 300))
    points, half = np.vstack(moved.paths), moved.width_px / 2
    assert (points >= half - 1e-9).all()
    assert (points <= np.array([300.0, 400.0]) - half + 1e-9).all()
    amid = mark(QUAD, state)
    assert all(np.array_equal(a, b) for a, b in zip(amid.within((400, 300)).paths, amid.paths, strict=True))


def test_marks_turn_with_the_figure() -> None:
    """A figure that reads up the sheet has its stroke on the side that its reader calls below."""
    up = np.array([[200.0, 300.0], [200.0, 220.0], [230.0, 220.0], [230.0, 300.0]])
    (stroke,) = mark(up, State.AGREED).paths
    assert stroke[:, 0].min() > 230.0
    (bracket,) = mark(up, State.UNPROVEN).paths
    assert bracket[:, 1].min() > 300.0


def test_degenerate_quad() -> None:
    point = np.zeros((4, 2))
    for state in State:
        assert all(np.isfinite(path).all() for path in mark(point, state).paths)


def test_png_shows_the_marks(tmp_path: Path) -> None:
    print_ = doubtful_gear()
    sheet = drawn_sheet(print_)
    write_png(tmp_path / "p.png", sheet, marked(sheet, print_.dimensions))
    picture = cv2.imread(str(tmp_path / "p.png"))
    assert picture.shape == (HEIGHT_PX, WIDTH_PX, 3)
    for row in print_.dimensions:
        (x0, y0), (x1, y1) = row.quad_px[0], row.quad_px[2]
        window = picture[int(y0) - 30 : int(y1) + 30, int(x0) - 40 : int(x1) + 40].reshape(-1, 3)
        wanted = np.array([int(COLOURS[row.state][i : i + 2], 16) for i in (5, 3, 1)])
        assert (np.abs(window.astype(int) - wanted).max(axis=1) < 40).sum() > 100, row.state


def test_an_open_outline_is_marked_where_it_ends(tmp_path: Path) -> None:
    """A shaft that lacks an edge, and the centre line that would give it back: a green diamond round the end in the
    picture, its place in words in PDF and page."""
    print_ = stepped_shaft()
    strokes = print_.strokes()
    lines = tuple(line for line in strokes.lines[1:] if line.role is not Role.CENTRE)
    found = Found(drawn_sheet(print_), replace(strokes, lines=lines, arrowheads=()), ())
    write_results(tmp_path, found, WholeViews(found.strokes, print_.reconciled()), None, {})
    x, y = print_.px((60.0, 135.0))
    picture = cv2.imread(str(tmp_path / "check-print.png")).astype(int)
    green = np.abs(picture - np.array([int(COLOUR[i : i + 2], 16) for i in (5, 3, 1)])).max(axis=2) < 40
    ys, xs = np.nonzero(green[int(y) - 60 : int(y) + 60, int(x) - 60 : int(x) + 26])
    reach = REACH_MM * PX_PER_MM
    assert (xs.min() + xs.max()) / 2 - 60 == pytest.approx(x - int(x), abs=2)
    assert np.ptp(xs) == pytest.approx(2 * reach, abs=6)
    assert np.ptp(ys) == pytest.approx(2 * reach, abs=6)
    assert "open 60.00, 135.00" in (tmp_path / "check-print.html").read_text()
    with pypdfium2.PdfDocument(tmp_path / "check-print.pdf") as document:
        assert "open 60.00, 135.00" in document[0].get_textpage().get_text_range()
    (end,) = json.loads((tmp_path / "sheet.json").read_text())["part"]["open_ends"]
    assert end["at_mm"] == [60.0, 135.0]
    assert end["at_level_px"] == pytest.approx([x, y], abs=0.1)


def test_marks_at_the_edge_and_outside(tmp_path: Path) -> None:
    print_ = stepped_shaft()
    far = ((-500.0, -500.0), (-400.0, -500.0), (-400.0, -470.0), (-500.0, -470.0))
    edge = ((-20.0, -10.0), (60.0, -10.0), (60.0, 20.0), (-20.0, 20.0))
    rows = [replace(print_.dimensions[0], quad_px=quad, state=State.DISPUTED) for quad in (far, edge)]
    sheet = drawn_sheet(print_)
    write_png(tmp_path / "p.png", sheet, marked(sheet, rows))
    assert (tmp_path / "p.png").stat().st_size > 1000


def test_large_sheet_is_bounded() -> None:
    small, factor = bounded(np.zeros((3000, 4000), dtype=np.uint8), 3e6)
    assert small.shape == (1500, 2000)
    assert factor == pytest.approx(0.5)


def test_crop_is_turned_upright() -> None:
    """A bar drawn to the right of a figure that reads up the sheet comes out under it."""
    grey = np.full((400, 400), 255, dtype=np.uint8)
    grey[220:300, 226:230] = 0
    up = np.array([[200.0, 300.0], [200.0, 220.0], [230.0, 220.0], [230.0, 300.0]])
    crop = crop_upright(grey, up)
    assert crop.shape[1] > crop.shape[0]
    assert crop[crop.shape[0] // 2 :].min() < 60
    assert crop[: crop.shape[0] // 2].min() > 200


def test_a_dimension_line_without_a_figure_is_marked_on_page_and_picture(tmp_path: Path) -> None:
    print_ = stepped_shaft()
    line = BareLine((100.0, 120.0), (400.0, 120.0), "A1")
    sheet = drawn_sheet(print_)
    for name, bare in (("without", ()), ("with", (line,))):
        reconciled = replace(print_.reconciled(), bare=bare)
        found = Found(sheet, print_.strokes(), ())
        write_results(tmp_path / name, found, WholeViews(print_.strokes(), reconciled), None, {})
    page = (tmp_path / "with" / "check-print.html").read_text(encoding="utf-8")
    assert bare_marks.MEANING in page
    assert page.count(f'stroke="{bare_marks.COLOUR}"') == 1
    before, after = (cv2.imread(str(tmp_path / name / "check-print.png")) for name in ("without", "with"))
    changed = np.argwhere(np.any(before != after, axis=2))
    factor = after.shape[1] / sheet.grey.shape[1]
    assert changed.min(axis=0)[1] / factor == pytest.approx(100.0, abs=12.0)
    assert changed.max(axis=0)[0] / factor == pytest.approx(120.0, abs=12.0)


def test_what_the_sheet_lacks_stands_on_page_table_and_workbook(tmp_path: Path) -> None:
    print_ = stepped_shaft()
    missing = Lacking("diameter", "A", 12.5, 0.1, Unit.MM, (0.0, 0.0), (9.0, 0.0), "no figure gives the diameter")
    reconciled = replace(print_.reconciled(), lacking=(missing,), excess=("the chain 1 + 2 = 3 is closed",))
    write_results(
        tmp_path, Found(drawn_sheet(print_), print_.strokes(), ()), WholeViews(print_.strokes(), reconciled), None, {}
    )
    page = (tmp_path / "check-print.html").read_text(encoding="utf-8")
    assert "no figure gives the diameter" in page
    assert "the chain 1 + 2 = 3 is closed" in page
    content = json.loads((tmp_path / "dimensions.json").read_text(encoding="utf-8"))
    assert content["lacking"][0]["size"] == 12.5
    assert content["over_dimensioned"] == ["the chain 1 + 2 = 3 is closed"]
