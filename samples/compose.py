"""A whole sheet: paper, border, title block, gear-data block, notes, and the views at the scale that fits."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from samples import brackets, bushings, flanges, gears, shafts
from samples.drafting import Board, Box, View
from samples.museum import PAPERS, Office, open_office
from samples.notation import Figure, Notation
from samples.parts import PartPlan, Rng, TableRow, ViewPlan
from samples.truth import Drawing, Quad

MARGIN_MM = 10.0  # ISO 5457
TITLE_SIZE_MM = (100.0, 32.0)
ROW_MM = 7.0
GAP_MM = 4.0
WIDE_SHEET_MM = 350.0
BLOCK_WIDTH_MM = 84.0
LABEL_WIDTH_MM = 42.0
NOTE_ROOM_MM = 6.0
MM_PER_INCH = 25.4

FAMILIES: dict[str, Callable[[Rng, Notation], PartPlan]] = {
    "gear": gears.plan,
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


@dataclass(frozen=True)
class Streams:
    """Independent random streams of one sheet, so that a change in one matter leaves the others as they were."""

    design: Rng
    office: Rng
    pen: Rng
    letterer: Rng
    trap: Rng
    exposure: Rng


def streams(level: str, seed: int) -> Streams:
    """Streams for a level and a seed."""
    root = np.random.SeedSequence([sum(level.encode()), seed])
    return Streams(*(np.random.default_rng(child) for child in root.spawn(6)))


@dataclass(frozen=True)
class Sheet:
    """Everything decided before the pen touches the paper."""

    office: Office
    part: PartPlan
    paper: tuple[float, float]
    scale: float
    scale_words: str
    origins: dict[str, tuple[float, float]]


def _row_size(part: PartPlan, scale: float) -> tuple[float, float]:
    """Width and height in mm of the views in a row, with their margins."""
    k = (MM_PER_INCH if part.notation.unit == "in" else 1.0) / scale
    width = sum(k * v.enlarge * (v.extent[2] - v.extent[0]) + v.margins[0] + v.margins[2] for v in part.views)
    up = max(k * v.enlarge * v.extent[3] + v.margins[3] for v in part.views)
    down = max(-k * v.enlarge * v.extent[1] + v.margins[1] for v in part.views)
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
    for scale, words in SCALES[part.notation.unit]:
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
    down = max(-k * v.enlarge * v.extent[1] + v.margins[1] for v in part.views)
    y = bottom + (top - bottom - height) / 2 + down
    origins = {}
    for view in part.views:
        x += view.margins[0]
        origins[view.id] = (x - k * view.enlarge * view.extent[0], y)
        x += k * view.enlarge * (view.extent[2] - view.extent[0]) + view.margins[2]
    return origins


def design_sheet(level: str, seed: int, family: str | None = None) -> Sheet:
    """Decide what is drawn on a sheet, by whom, how large."""
    source = streams(level, seed)
    office = open_office(source.office)
    names = list(FAMILY_SHARES)
    name = family or names[int(source.design.choice(len(names), p=[FAMILY_SHARES[n] for n in names]))]
    part = FAMILIES[name](source.design, office.style.notation)
    order = source.design.choice(len(PAPERS), len(PAPERS), replace=False, p=[p[3] for p in PAPERS])
    for index in order:
        paper = (PAPERS[index][1], PAPERS[index][2])
        fit = _fit(part, paper)
        if fit:
            return Sheet(office, part, paper, *fit, _origins(part, paper, fit[0]))
    raise ValueError("The part fits on none of the papers at any scale.")


def draw(sheet: Sheet, source: Streams, wrong: dict[str, tuple[Figure, str]]) -> tuple[Drawing, dict[str, Figure]]:
    """Draw a sheet; ``wrong`` figures are lettered in place of the right ones, which are returned too."""
    board = Board(sheet.office.style, source.pen, source.letterer, wrong)
    unit_mm = MM_PER_INCH if sheet.part.notation.unit == "in" else 1.0
    _frame(board, sheet)
    _title_block(board, sheet)
    views: list[tuple[ViewPlan, View]] = []
    for planned in sheet.part.views:
        scale = sheet.scale / planned.enlarge
        views.append((planned, board.view(planned.id, sheet.origins[planned.id], unit_mm, scale, planned.extent)))
    for planned, view in views:
        planned.outline(board, view)
    if sheet.part.rows:
        _data_block(board, sheet)
    for planned, view in views:
        planned.dimensions(board, view)
    board.finish()
    drawing = Drawing(
        sheet.part.title, sheet.part.family, sheet.part.notation.unit, sheet.paper, sheet.office.style.pen_error_mm,
        board.view_marks(), tuple(board.lines), tuple(board.arcs), tuple(board.heads), tuple(board.texts),
        tuple(board.dimensions), sheet.part.gear, sheet.part.areas,
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


def _title_block(board: Board, sheet: Sheet) -> None:
    """Title block in the lower right corner: maker, title, scale, material, number, date."""
    width, height = TITLE_SIZE_MM
    right, bottom = sheet.paper[0] - MARGIN_MM, MARGIN_MM
    left, row = right - width, height / 4
    office = sheet.office
    unit_note = "ALL DIMENSIONS IN INCHES" if sheet.part.notation.unit == "in" else "ALL DIMENSIONS IN MM"
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
    board.write(unit_note, (MARGIN_MM + 5, MARGIN_MM + 5), "note", 3.0)


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


def with_trap(drawing: Drawing, trap: str | None) -> Drawing:
    """The drawing, marked with the kind of trap it holds."""
    return replace(drawing, trap=trap)
