"""A whole sheet: paper, border, title block, gear-data block, notes, and the views at the scale that fits."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from samples import brackets, bushings, figures, flanges, gears, shafts, traps
from samples.board import Board, Box, View
from samples.museum import PAPERS, Office, open_office
from samples.notation import Figure, Notation
from samples.parts import PartPlan, Rng, TableRow, ViewPlan, pick
from samples.sections import draw_hatching
from samples.truth import Drawing, Quad

MARGIN_MM = 10.0  # ISO 5457
TITLE_SIZE_MM = (100.0, 32.0)
ROW_MM = 7.0
GAP_MM = 4.0
WIDE_SHEET_MM = 350.0
BLOCK_WIDTH_MM = 84.0
LABEL_WIDTH_MM = 42.0
NOTE_ROOM_MM = 6.0
TITLE_ROOM_MM = 8.0
MM_PER_INCH = 25.4

FAMILIES: dict[str, Callable[[Rng, Notation], PartPlan]] = {
    "gear": gears.plan,
    "few-teeth": gears.plan_of_few_teeth,
    "shaft": shafts.plan,
    "flange": flanges.plan,
    "bracket": brackets.plan,
    "bushing": bushings.plan,
}
FAMILY_SHARES = {"gear": 0.3, "shaft": 0.24, "flange": 0.16, "bracket": 0.16, "bushing": 0.14}

SCALES = {  # part mm per paper mm, with the words of the title block
    "in": ((0.5, "TWICE SIZE"), (1.0, "FULL SIZE"), (4 / 3, '9" = 1\'-0"'), (2.0, "HALF SIZE"), (4.0, "QUARTER SIZE"),
           (8.0, '1 1/2" = 1\'-0"')),
    "mm": ((0.5, "2:1"), (1.0, "1:1"), (2.0, "1:2"), (2.5, "1:2.5"), (5.0, "1:5"), (10.0, "1:10")),
}  # fmt: skip


REMARKS = ("1 REQ'D", "FINISH ALL OVER", "BREAK ALL SHARP EDGES")
REMARK_SHARE = 0.3
UNIT_NOTE_SHARE = 0.8
OFF_SCALE_SHARE = 0.1
OFF_SCALES = (0.85, 0.9, 1.12, 1.2)
MANNERS = ("office", "plate")
PLATE_ARROW = 0.45
"""Length of a barb to the height of figures on plates of old books (measured on prints before 1930)."""
FLIPPED_SHARE = 0.25  # first angle puts the side view on the other side


@dataclass(frozen=True)
class Streams:
    """Independent random streams of one sheet, so that a change in one matter leaves the others as they were."""

    design: Rng
    office: Rng
    pen: Rng
    letterer: Rng
    trap: Rng
    exposure: Rng
    bending: Rng
    figures: Rng


def streams(level: str, seed: int) -> Streams:
    """Streams for a level and a seed."""
    root = np.random.SeedSequence([sum(level.encode()), seed])
    return Streams(*(np.random.default_rng(child) for child in root.spawn(8)))


@dataclass(frozen=True)
class Sheet:
    """Everything decided before the pen touches the paper."""

    office: Office
    part: PartPlan
    paper: tuple[float, float]
    scale: float
    scale_words: str
    origins: dict[str, tuple[float, float]]
    remarks: tuple[str, ...] = ()
    says_unit: bool = True


def _row_size(part: PartPlan, scale: float) -> tuple[float, float]:
    """Width and height in mm of the views in a row, with their margins."""
    k = (MM_PER_INCH if part.notation.unit == "in" else 1.0) / scale
    width = sum(k * v.size * (v.extent[2] - v.extent[0]) + v.margins[0] + v.margins[2] for v in part.views)
    up = max(k * v.size * v.extent[3] + v.margins[3] for v in part.views)
    down = max(-k * v.size * v.extent[1] + v.margins[1] for v in part.views)
    return width, up + down


def _block_height(part: PartPlan) -> float:
    return ROW_MM * (len(part.rows) + 1) if part.rows else 0.0


def _block_beside(paper: tuple[float, float]) -> bool:
    """Whether the sheet is wide enough for a data block at the upper right; else it stands by the title block."""
    return paper[0] > WIDE_SHEET_MM


def _free(part: PartPlan, paper: tuple[float, float]) -> Box:
    """The part of the paper that the views may take: above the title block, left of a data block."""
    right, top = paper[0] - MARGIN_MM - GAP_MM, paper[1] - MARGIN_MM - GAP_MM
    bottom = MARGIN_MM + TITLE_SIZE_MM[1] + GAP_MM
    if part.rows and _block_beside(paper):
        right -= BLOCK_WIDTH_MM + GAP_MM
    elif part.rows:
        bottom = max(bottom, MARGIN_MM + 2 * GAP_MM + NOTE_ROOM_MM + _block_height(part))
    return MARGIN_MM + GAP_MM, bottom, right, top


def _fit(part: PartPlan, paper: tuple[float, float]) -> tuple[float, str] | None:
    """The largest standard scale at which the views fit."""
    left, bottom, right, top = _free(part, paper)
    known = dict(SCALES[part.notation.unit])
    for scale, words in known.items():
        if any(scale / view.enlarge not in known for view in part.views):
            continue
        width, height = _row_size(part, scale)
        if width <= right - left and height <= top - bottom:
            return scale, words
    return None


def _origins(part: PartPlan, paper: tuple[float, float], scale: float) -> dict[str, tuple[float, float]]:
    """Part point (0, 0) of each view on the paper: in a row, their axes level."""
    left, bottom, right, top = _free(part, paper)
    width, height = _row_size(part, scale)
    k = (MM_PER_INCH if part.notation.unit == "in" else 1.0) / scale
    x = left + (right - left - width) / 2
    down = max(-k * v.size * v.extent[1] + v.margins[1] for v in part.views)
    y = bottom + (top - bottom - height) / 2 + down
    origins = {}
    for view in part.views:
        x += view.margins[0]
        origins[view.id] = (x - k * view.size * view.extent[0], y)
        x += k * view.size * (view.extent[2] - view.extent[0]) + view.margins[2]
    return origins


def _arranged(part: PartPlan, rng: Rng) -> PartPlan:
    """Views in first or third angle order; on a few sheets the last view not to scale."""
    views = part.views
    if len(views) > 1 and rng.random() < OFF_SCALE_SHARE:
        left, below, right, above = views[-1].margins
        room = (left, below + TITLE_ROOM_MM, right, above)
        views = (*views[:-1], replace(views[-1], off_scale=pick(rng, OFF_SCALES), enlarge=1.0, margins=room))
    if rng.random() < FLIPPED_SHARE and part.family != "shaft":
        views = views[::-1]
    return replace(part, views=views)


def _titled(part: PartPlan, scale: float) -> PartPlan:
    """Titles of the views that need one: their own scale, or that they have none."""
    words = dict(SCALES[part.notation.unit])

    def title(view: ViewPlan) -> str:
        if view.off_scale != 1.0:
            return f"{view.title} N.T.S.".strip() if view.title else "NOT TO SCALE"
        if view.enlarge != 1.0:
            return f"{view.title} SCALE {words[scale / view.enlarge]}".strip()
        return view.title

    return replace(part, views=tuple(replace(v, title=title(v)) for v in part.views))


def _as_for_a_plate(office: Office) -> Office:
    """Let an office draw as for the plates of old books: small arrowheads by hand, dashed dimension lines."""
    style = office.style
    drawn = replace(style, arrow="hand", arrow_mm=PLATE_ARROW * style.text_mm, dashed=True, broken=True)
    return replace(office, style=drawn)


def design_sheet(
    level: str, seed: int, family: str | None = None, manner: str = "office", style: str = "mixed"
) -> Sheet:
    """Decide what is drawn on a sheet, by whom, how large, and in which style of `figures.FIGURES`."""
    source = streams(level, seed)
    office = open_office(source.office)
    if manner == "plate":
        office = _as_for_a_plate(office)
    notation = figures.notation_for(style, office.style.notation, source.figures)
    office = replace(office, style=replace(office.style, notation=notation))
    shares = figures.FAMILY_SHARES.get(style, FAMILY_SHARES)
    names = list(shares)
    name = family or names[int(source.design.choice(len(names), p=[shares[n] for n in names]))]
    part = FAMILIES[name](source.design, notation)
    part = _arranged(part, source.office)
    order = source.design.choice(len(PAPERS), len(PAPERS), replace=False, p=[p[3] for p in PAPERS])
    for index in order:
        paper = (PAPERS[index][1], PAPERS[index][2])
        fit = _fit(part, paper)
        if fit:
            part = _titled(part, fit[0])
            remarks = tuple(r for r in REMARKS if source.office.random() < REMARK_SHARE)
            says = bool(source.office.random() < UNIT_NOTE_SHARE)
            return Sheet(office, part, paper, *fit, _origins(part, paper, fit[0]), remarks, says)
    raise ValueError("The part fits on none of the papers at any scale.")


def finished(
    level: str,
    seed: int,
    family: str | None = None,
    trap_mode: str = "mixed",
    manner: str = "office",
    style: str = "mixed",
) -> Drawing:
    """The drawing of a level and seed, with its trap if it has one, in one of the `MANNERS` and styles of figure."""
    sheet = design_sheet(level, seed, family, manner, style)
    drawing, right = draw(sheet, streams(level, seed), {})
    wrong = traps.choose(drawing, right, streams(level, seed).trap, trap_mode)
    if not wrong:
        return drawing
    trapped, _ = draw(sheet, streams(level, seed), wrong)
    ((_, kind),) = wrong.values()
    gear = replace(trapped.gear, decidable=False) if trapped.gear and kind == "gear" else trapped.gear
    return replace(trapped, trap=kind, gear=gear)


def draw(sheet: Sheet, source: Streams, wrong: dict[str, tuple[Figure, str]]) -> tuple[Drawing, dict[str, Figure]]:
    """Draw a sheet; ``wrong`` figures are lettered in place of the right ones, which are returned too."""
    board = Board(sheet.office.style, source.pen, source.letterer, wrong)
    unit_mm = MM_PER_INCH if sheet.part.notation.unit == "in" else 1.0
    board.bounds = (MARGIN_MM, MARGIN_MM, sheet.paper[0] - MARGIN_MM, sheet.paper[1] - MARGIN_MM)
    _frame(board, sheet)
    _title_block(board, sheet)
    views: list[tuple[ViewPlan, View]] = []
    for planned in sheet.part.views:
        scale = sheet.scale / planned.size
        off = planned.off_scale != 1.0
        view = board.view(planned.id, sheet.origins[planned.id], unit_mm, scale, planned.extent, not_to_scale=off)
        views.append((planned, view))
    for planned, view in views:
        planned.outline(board, view)
    if sheet.part.rows:
        _data_block(board, sheet)
    _notes(board, sheet)
    for planned, view in views:
        planned.dimensions(board, view)
        if planned.title:
            board.title(view, planned.title, planned.margins[1] - 4.0)
    draw_hatching(board)
    drawing = Drawing(
        sheet.part.title, sheet.part.family, sheet.part.notation.unit, sheet.paper, sheet.office.style.pen_error_mm,
        board.view_marks(), tuple(board.lines), tuple(board.arcs), tuple(board.heads), tuple(board.texts),
        tuple(board.dimensions), sheet.part.gear, sheet.part.areas, sheet.part.outlines,
    )  # fmt: skip
    return drawing, board.right


def _rectangle(board: Board, box: Box, role: str) -> None:
    left, bottom, right, top = box
    corners = [(left, bottom), (right, bottom), (right, top), (left, top)]
    for p, q in zip(corners, corners[1:] + corners[:1], strict=True):
        board.stroke(p, q, role)


def _frame(board: Board, sheet: Sheet) -> None:
    width, height = sheet.paper
    _rectangle(board, (MARGIN_MM, MARGIN_MM, width - MARGIN_MM, height - MARGIN_MM), "border")


def _notes(board: Board, sheet: Sheet) -> None:
    """Notes one over the other in the lower left corner."""
    unit_note = "ALL DIMENSIONS IN INCHES" if sheet.part.notation.unit == "in" else "ALL DIMENSIONS IN MM"
    base, size = MARGIN_MM + 5.0, 3.0
    for text in (*((unit_note,) if sheet.says_unit else ()), *sheet.remarks):
        board.write(text, (MARGIN_MM + 5, base), "note", size)
        base += 2.0 * size
    for key, note in sheet.part.notes:
        written, trap = board.figure_of(key, note)
        quad = board.write(written.text, (MARGIN_MM + 5, base + 1.5), "note", sheet.office.style.text_mm)
        board.record(key, written, trap, quad, None)
        base += 3.2 * size


def _title_block(board: Board, sheet: Sheet) -> None:
    """Title block in the lower right corner: maker, title, scale, material, number, date."""
    width, height = TITLE_SIZE_MM
    right, bottom = sheet.paper[0] - MARGIN_MM, MARGIN_MM
    left, row = right - width, height / 4
    office = sheet.office
    board.stroke((left, bottom), (left, bottom + height), "border")
    board.stroke((left, bottom + height), (right, bottom + height), "border")
    for k in (1, 2, 3):
        board.stroke((left, bottom + k * row), (right, bottom + k * row), "table")
    board.stroke((left + 0.52 * width, bottom), (left + 0.52 * width, bottom + 2 * row), "table")
    cells = [
        (0.0, 3, office.maker), (0.0, 2, f"{sheet.part.title}"), (0.0, 1, f"SCALE {sheet.scale_words}"),
        (0.52, 1, f"MATERIAL {sheet.part.material}"), (0.0, 0, f"DRG. NO. {office.number}"), (0.52, 0, office.date),
    ]  # fmt: skip
    for share, k, text in cells:
        size = 3.0 if k < 3 else 3.4
        base = bottom + k * row + (row - size) / 2
        room = width * (1 - share if k < 2 and share else 0.52 if k < 2 else 1.0) - 4.0
        _cell(board, text, left + share * width + 2.5, base, room, "title", size)


def _cell(board: Board, text: str, left: float, base: float, room: float, what: str, height: float) -> Quad:
    """Letter a cell of a table, smaller where it would not fit."""
    laid = board.lettered(text, height)
    fitted = height * min(1.0, room / max(laid.size[0], 1e-6))
    return board.write(text, (left, base + (height - fitted) / 2), what, fitted)


def _data_block(board: Board, sheet: Sheet) -> None:
    """Gear-data block: on a wide sheet at the upper right, else left of the title block."""
    rows, height = sheet.part.rows, _block_height(sheet.part)
    size = min(sheet.office.style.text_mm, 3.2)
    if _block_beside(sheet.paper):
        right, top = sheet.paper[0] - MARGIN_MM - GAP_MM, sheet.paper[1] - MARGIN_MM - GAP_MM
    else:
        right = sheet.paper[0] - MARGIN_MM - TITLE_SIZE_MM[0] - GAP_MM
        top = MARGIN_MM + GAP_MM + NOTE_ROOM_MM + height
    left = right - BLOCK_WIDTH_MM
    _rectangle(board, (left, top - height, right, top), "table")
    board.write("GEAR DATA", (left + 3, top - ROW_MM + (ROW_MM - size) / 2), "table", size)
    board.stroke((left + LABEL_WIDTH_MM, top - ROW_MM), (left + LABEL_WIDTH_MM, top - height), "table")
    for k, row in enumerate(rows, start=1):
        y = top - k * ROW_MM
        board.stroke((left, y), (right, y), "table")
        _table_row(board, row, left, y - ROW_MM + (ROW_MM - size) / 2, size)


def _table_row(board: Board, row: TableRow, left: float, base: float, size: float) -> None:
    _cell(board, row.label, left + 1.5, base, LABEL_WIDTH_MM - 3.0, "table", size)
    key = f"G.{row.key}"
    written, trap = board.figure_of(key, row.figure)
    room = BLOCK_WIDTH_MM - LABEL_WIDTH_MM - 3.5
    quad = _cell(board, written.text, left + LABEL_WIDTH_MM + 2, base, room, "table", size)
    board.record(key, written, trap, quad, None)
