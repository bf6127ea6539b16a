"""Drawings made by a library nobody here wrote, with its own dimensions, arrowheads, lettering and line types.

Our samples are drawn by rules we know; a rule that only holds for them is found out here. ezdxf draws each part and its
DIMENSION entities; what they say is taken from those entities.
"""

import math
import random
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

import ezdxf
from ezdxf.document import Drawing
from ezdxf.layouts import Modelspace

from tests.bench.records import Record

INCH_MM = 25.4
PAPER_MM = (420.0, 297.0)
FONTS = ("osifont.ttf", "LiberationSans-Regular.ttf", "LiberationSansNarrow-Regular.ttf", "DejaVuSans.ttf",
         "routed-gothic.ttf")  # fmt: skip
ARROWS = ("", "", "", "CLOSED", "OPEN30", "OPEN", "OBLIQUE", "ARCHTICK", "DOT", "CLOSEDBLANK")
"""Block names of ezdxf; the empty one is a closed filled head, by far the most usual."""
SCALES = (Fraction(1), Fraction(1), Fraction(1, 2), Fraction(2))


@dataclass(frozen=True)
class Manner:
    """How one office letters and dimensions: everything but the part."""

    inch: bool
    fraction: bool
    stacked: bool
    scale: Fraction
    font: str
    height_mm: float
    arrow: str
    above: bool
    level_text: bool
    comma: bool
    heavy: int
    light: int

    @property
    def part_mm_per_paper_mm(self) -> float:
        """Millimetres of part that one millimetre of paper stands for."""
        return float(1 / self.scale)


def some_manner(rng: random.Random) -> Manner:
    """Draw one manner by lot."""
    inch = rng.random() < 0.6
    above = rng.random() < 0.4
    return Manner(
        inch=inch,
        fraction=inch and rng.random() < 0.5,
        stacked=rng.random() < 0.5,
        scale=rng.choice(SCALES),
        font=rng.choice(FONTS),
        height_mm=rng.choice((2.5, 3.0, 3.5)),
        arrow=rng.choice(ARROWS),
        above=above,
        level_text=not above and rng.random() < 0.6,
        comma=not inch and rng.random() < 0.3,
        heavy=rng.choice((35, 50, 70)),
        light=rng.choice((18, 25, 35)),
    )


@dataclass
class Board:
    """A sheet in the making: its document and what its dimensions say."""

    manner: Manner
    document: Drawing
    truths: list[Record] = field(default_factory=list)
    lie: int | None = None
    """Which of its dimensions, by number, says something else than is drawn."""

    @property
    def space(self) -> Modelspace:
        """Where entities go."""
        return self.document.modelspace()

    def mm(self, size: Fraction) -> float:
        """A size of the part, in the drawing's unit, as mm of paper."""
        return float(size * self.manner.scale) * (INCH_MM if self.manner.inch else 1.0)

    def line(self, *points: tuple[float, float], closed: bool = False) -> None:
        """Draw a visible outline."""
        self.space.add_lwpolyline(points, close=closed, dxfattribs={"lineweight": self.manner.heavy})

    def circle(self, centre: tuple[float, float], radius: float) -> None:
        """Draw a visible circle with its centre lines."""
        self.space.add_circle(centre, radius, dxfattribs={"lineweight": self.manner.heavy})
        for dx, dy in ((1, 0), (0, 1)):
            reach = radius + 4.0
            ends = [(centre[0] + sign * dx * reach, centre[1] + sign * dy * reach) for sign in (-1, 1)]
            self.centre_line(*ends)

    def centre_line(self, first: tuple[float, float], second: tuple[float, float]) -> None:
        """Draw a chain line of the light pen."""
        self.space.add_line(first, second, dxfattribs={"linetype": "CENTER", "lineweight": self.manner.light})

    def across(self, x0: float, x1: float, y: float, base: float, size: Fraction, kind: str = "linear") -> None:
        """Dimension a level length."""
        look = self._look(size, kind)
        made = self.space.add_linear_dim((x0, base), (x0, y), (x1, y), dimstyle="EZDXF", override=look)
        self._finish(made, size, kind)

    def upright(self, y0: float, y1: float, x: float, base: float, size: Fraction, kind: str = "linear") -> None:
        """Dimension an upright length."""
        look = self._look(size, kind)
        made = self.space.add_linear_dim((base, y0), (x, y0), (x, y1), angle=90, dimstyle="EZDXF", override=look)
        self._finish(made, size, kind)

    def diameter(self, centre: tuple[float, float], radius: float, angle_deg: float, size: Fraction) -> None:
        """Dimension a circle from outside."""
        turn = math.radians(angle_deg)
        out = (centre[0] + (radius + 14.0) * math.cos(turn), centre[1] + (radius + 14.0) * math.sin(turn))
        made = self.space.add_diameter_dim(
            center=centre, radius=radius, angle=angle_deg, location=out, dimstyle="EZ_RADIUS",
            override=self._look(size, "diameter", sign=False),
        )  # fmt: skip
        self._finish(made, size, "diameter")

    def radius(self, centre: tuple[float, float], radius: float, angle_deg: float, size: Fraction) -> None:
        """Dimension a rounding from outside."""
        turn = math.radians(angle_deg)
        out = (centre[0] + (radius + 12.0) * math.cos(turn), centre[1] + (radius + 12.0) * math.sin(turn))
        made = self.space.add_radius_dim(
            center=centre, radius=radius, angle=angle_deg, location=out, dimstyle="EZ_RADIUS",
            override=self._look(size, "radius", sign=False),
        )  # fmt: skip
        self._finish(made, size, "radius")

    def _look(self, size: Fraction, kind: str, sign: bool = True) -> dict[str, Any]:
        manner = self.manner
        look = {
            "dimtxsty": "LETTERS", "dimtxt": manner.height_mm, "dimasz": manner.height_mm, "dimexe": 1.5, "dimexo": 1.0,
            "dimgap": 0.9, "dimtad": int(manner.above), "dimtih": int(manner.level_text),
            "dimtoh": int(manner.level_text), "dimrnd": 1e-4, "dimdec": 3 if manner.inch else 1,
            "dimzin": 12 if manner.inch else 8,
            "dimdsep": ord("," if manner.comma else "."), "dimlwd": manner.light, "dimlwe": manner.light,
            "dimlfac": manner.part_mm_per_paper_mm / (INCH_MM if manner.inch else 1.0), "dimtix": 0,
            "dimblk": manner.arrow, "dimblk1": manner.arrow, "dimblk2": manner.arrow,
        }  # fmt: skip
        if kind == "diameter" and sign:
            look["dimpost"] = "Ø<>"
        return look

    def written(self, size: Fraction) -> str:
        """A size as this office writes it, in the codes of MTEXT where fractions are stacked."""
        if not self.manner.fraction:
            shown = f"{float(size):.3f}".rstrip("0").rstrip(".")
            return (shown.removeprefix("0") if self.manner.inch else shown).replace(
                ".", "," if self.manner.comma else "."
            )
        whole, rest = divmod(size, 1)
        if rest and self.manner.stacked:
            return f"{whole or ''}\\S{rest.numerator}/{rest.denominator};"
        return f"{whole} {rest}" if whole and rest else str(rest or whole)

    def note(self, *lines: str) -> None:
        """Letter some lines in the lower right corner, as a title block has them."""
        for number, line in enumerate(lines):
            look = {"style": "LETTERS", "height": self.manner.height_mm, "insert": (310.0, 40.0 - 7.0 * number)}
            self.space.add_text(line, dxfattribs=look)

    def _finish(self, made: Any, size: Fraction, kind: str) -> None:
        entity = made.dimension
        prefix = {"diameter": "Ø", "radius": "R"}.get(kind, "")
        lies = len(self.truths) == self.lie
        if lies:
            size += Fraction(1, 8) if self.manner.inch else 3
        if self.manner.fraction or lies:
            entity.dxf.text = prefix + self.written(size)
        made.render()
        letters = [e for e in entity.get_geometry_block() if e.dxftype() in ("TEXT", "MTEXT")]
        text = letters[0]
        shown = text.plain_text() if text.dxftype() == "MTEXT" else text.dxf.text
        turn = float(text.dxf.get("rotation", 0.0)) if not text.dxf.hasattr("text_direction") else _turn(text)
        at = (float(text.dxf.insert.x), float(text.dxf.insert.y))
        truth = _truth(f"D{len(self.truths) + 1}", shown, kind, size, self.manner, at, turn)
        self.truths.append({**truth, "trap": "figure" if lies else None})


def _turn(text: Any) -> float:
    return math.degrees(math.atan2(text.dxf.text_direction.y, text.dxf.text_direction.x))


def _truth(
    name: str, shown: str, kind: str, size: Fraction, manner: Manner, at: tuple[float, float], turn_deg: float
) -> Record:
    """One dimension in the form of the samples' truth, its box in mm of paper."""
    half_width, half_height = 0.35 * manner.height_mm * len(shown), 0.5 * manner.height_mm
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    corners = ((-1, 1), (1, 1), (1, -1), (-1, -1))
    box = [(at[0] + c * i * half_width - s * j * half_height, at[1] + s * i * half_width + c * j * half_height)
           for i, j in corners]  # fmt: skip
    style = "fraction" if manner.fraction else "decimal"
    place = 1 / 64 if manner.fraction else 10.0 ** -len(shown.replace(",", ".").partition(".")[2])
    return {"id": name, "text": shown, "kind": kind, "value": float(size), "unit": "in" if manner.inch else "mm",
            "style": style, "place": place, "count": None, "trap": None, "chain": None, "shared": None,
            "quad_mm": box}  # fmt: skip


def _sizes(rng: random.Random, board: Board, least_mm: float, most_mm: float) -> Fraction:
    """A size that is between two lengths on paper, in sixteenths or whole and half millimetres."""
    step = Fraction(1, 16) if board.manner.inch else Fraction(1, 2)
    low, high = (mm / board.mm(step) for mm in (least_mm, most_mm))
    return step * rng.randint(math.ceil(low), math.floor(high))


def plate(board: Board, rng: random.Random) -> None:
    """A plate with holes, located from its lower left corner, baseline or chain."""
    wide, high = _sizes(rng, board, 110, 170), _sizes(rng, board, 70, 110)
    x0, y0, w, h = 120.0, 90.0, board.mm(wide), board.mm(high)
    board.line((x0, y0), (x0 + w, y0), (x0 + w, y0 + h), (x0, y0 + h), closed=True)
    small = _sizes(rng, board, 8, 14)
    left, right = _sizes(rng, board, 16, 28), wide - _sizes(rng, board, 16, 28)
    low, middle, up = _sizes(rng, board, 15, 24), _sizes(rng, board, 50, 60), _sizes(rng, board, 38, 48)
    large = _sizes(rng, board, 24, 34)
    for at, bore in (((left, low), small), ((right, low), small), ((middle, up), large)):
        board.circle((x0 + board.mm(at[0]), y0 + board.mm(at[1])), board.mm(bore) / 2)
    xl, xr, xm = (x0 + board.mm(v) for v in (left, right, middle))
    yl, yu = y0 + board.mm(low), y0 + board.mm(up)
    chain = rng.random() < 0.5
    board.across(x0, xl, y0, y0 - 12, left)
    board.across(xl if chain else x0, xr, y0, y0 - (12 if chain else 22), right - left if chain else right)
    board.across(x0, x0 + w, y0, y0 - 32, wide)
    board.across(x0, xm, y0 + h, y0 + h + 14, middle)
    board.upright(y0, yu, x0, x0 - 14, up)
    board.upright(y0, yl, x0 + w, x0 + w + 14, low)
    board.upright(y0, y0 + h, x0 + w, x0 + w + 28, high)
    board.diameter((xm, yu), board.mm(large) / 2, 50, large)
    board.diameter((xr, yl), board.mm(small) / 2, 140, small)


def shaft(board: Board, rng: random.Random) -> None:
    """A shaft of three or four steps, diameters at its ends and along it."""
    steps = [(_sizes(rng, board, 35, 60), _sizes(rng, board, 16, 48)) for _ in range(rng.choice((3, 4)))]
    x, y = 90.0, 150.0
    total = sum((length for length, _ in steps), Fraction(0))
    board.centre_line((x - 6, y), (x + board.mm(total) + 6, y))
    start = x
    for number, (length, across) in enumerate(steps):
        run, half = board.mm(length), board.mm(across) / 2
        board.line((x, y - half), (x + run, y - half), (x + run, y + half), (x, y + half), closed=True)
        board.across(x, x + run, y - half, y - 40, length)
        if number in (0, len(steps) - 1):
            beside = start - 14 if number == 0 else x + run + 14
            board.upright(y - half, y + half, x if number == 0 else x + run, beside, across, "diameter")
        x += run
    board.across(start, x, y - board.mm(steps[0][1]) / 2, y - 54, total)


def angle_piece(board: Board, rng: random.Random) -> None:
    """An L-shaped piece with a rounded inner corner and a hole in each leg."""
    wide, high = _sizes(rng, board, 100, 150), _sizes(rng, board, 90, 120)
    thick, round_ = _sizes(rng, board, 28, 40), _sizes(rng, board, 8, 18)
    x0, y0 = 130.0, 85.0
    w, h, t, r = (board.mm(v) for v in (wide, high, thick, round_))
    bulge = -math.tan(math.radians(90) / 4)
    outline = [(x0, y0, 0), (x0 + w, y0, 0), (x0 + w, y0 + t, 0), (x0 + t + r, y0 + t, bulge),
               (x0 + t, y0 + t + r, 0), (x0 + t, y0 + h, 0), (x0, y0 + h, 0)]  # fmt: skip
    board.space.add_lwpolyline(outline, format="xyb", close=True, dxfattribs={"lineweight": board.manner.heavy})
    bore, off = _sizes(rng, board, 9, 14), _sizes(rng, board, 16, 24)
    first, second = (x0 + w - board.mm(off), y0 + t / 2), (x0 + t / 2, y0 + h - board.mm(off))
    for centre in (first, second):
        board.circle(centre, board.mm(bore) / 2)
    board.across(x0, x0 + w, y0, y0 - 26, wide)
    board.across(first[0], x0 + w, y0, y0 - 13, off)
    board.upright(y0, y0 + h, x0, x0 - 26, high)
    board.upright(second[1], y0 + h, x0, x0 - 13, off)
    board.upright(y0, y0 + t, x0 + w, x0 + w + 14, thick)
    board.across(x0, x0 + t, y0 + h, y0 + h + 13, thick)
    board.radius((x0 + t + r, y0 + t + r), r, 225, round_)
    board.diameter(second, board.mm(bore) / 2, 20, bore)


def flange(board: Board, rng: random.Random) -> None:
    """A round flange with a boss and a bore, and its side view with the same heights."""
    outer, bore = _sizes(rng, board, 96, 130), _sizes(rng, board, 20, 30)
    boss, thick, deep = _sizes(rng, board, 44, 60), _sizes(rng, board, 12, 20), _sizes(rng, board, 26, 40)
    centre = (140.0, 150.0)
    for size in (outer, boss, bore):
        board.circle(centre, board.mm(size) / 2)
    x, y = 250.0, centre[1]
    ro, rb, t, d = board.mm(outer) / 2, board.mm(boss) / 2, board.mm(thick), board.mm(deep)
    board.line((x, y - ro), (x + t, y - ro), (x + t, y - rb), (x + d, y - rb), (x + d, y + rb), (x + t, y + rb),
               (x + t, y + ro), (x, y + ro), closed=True)  # fmt: skip
    board.centre_line((x - 6, y), (x + d + 6, y))
    board.across(x, x + t, y + ro, y + ro + 13, thick)
    board.across(x, x + d, y - ro, y - ro - 14, deep)
    board.upright(y - rb, y + rb, x + d, x + d + 15, boss, "diameter")
    board.upright(y - ro, y + ro, x + t, x + d + 32, outer, "diameter")
    board.diameter(centre, board.mm(bore) / 2, 35, bore)


def gear_blank(board: Board, rng: random.Random) -> None:
    """A spur gear as a blank: no tooth drawn, the pitch circle a chain line, its data in a list of rows."""
    pitch, teeth = rng.choice((6, 8, 10, 12)), rng.randint(20, 48)
    board = replace(board, manner=replace(board.manner, inch=True, fraction=False, comma=False))
    over, across = Fraction(teeth + 2, pitch), Fraction(teeth, pitch)
    factor = min(Fraction(2), max(Fraction(1, 2), Fraction(round(16 * 4 / float(over)), 16)))
    board = replace(board, manner=replace(board.manner, scale=factor))
    bore, face = Fraction(rng.randint(10, 16), 16), Fraction(rng.randint(12, 24), 16)
    centre, radius = (120.0, 150.0), board.mm(over) / 2
    board.circle(centre, radius)
    board.circle(centre, board.mm(bore) / 2)
    board.space.add_circle(
        centre, board.mm(across) / 2, dxfattribs={"linetype": "CENTER", "lineweight": board.manner.light}
    )
    x, wide = 230.0, board.mm(face)
    board.line((x, centre[1] - radius), (x + wide, centre[1] - radius), (x + wide, centre[1] + radius),
               (x, centre[1] + radius), closed=True)  # fmt: skip
    board.centre_line((x - 6, centre[1]), (x + wide + 6, centre[1]))
    board.across(x, x + wide, centre[1] + radius, centre[1] + radius + 14, face)
    board.upright(centre[1] - radius, centre[1] + radius, x + wide, x + wide + 16, over, "diameter")
    board.diameter(centre, board.mm(bore) / 2, 35, bore)
    rows = {"NUMBER OF TEETH {}": teeth, "DIAMETRAL PITCH {}": pitch, "PRESSURE ANGLE {}%%d": 20, "FULL DEPTH": None}
    for number, (row, value) in enumerate(rows.items()):
        at = 310.0, 250.0 - 7.0 * number
        look = {"style": "LETTERS", "height": board.manner.height_mm, "insert": at}
        board.space.add_text(row.format(value), dxfattribs=look)
        if value is not None:
            board.truths.append(_row_truth(row, value, board.manner, at))


def _row_truth(row: str, value: int, manner: Manner, at: tuple[float, float]) -> Record:
    """A row of the data in the form of the samples' truth; its figure stands somewhere on the line."""
    left, low = at
    right, high = left + manner.height_mm * len(row), low + manner.height_mm
    return {"id": row.partition(" {")[0], "text": row.format(value), "kind": "gear_data", "value": float(value),
            "unit": "none", "style": "integer", "place": 1.0, "count": None, "trap": None, "chain": None,
            "shared": None, "quad_mm": [(left, high), (right, high), (right, low), (left, low)]}  # fmt: skip


PARTS: tuple[Callable[[Board, random.Random], None], ...] = (plate, shaft, angle_piece, flange, gear_blank)


FEWEST = 3
"""Every part has at least so many dimensions."""


def foreign_drawing(seed: int, manner: Manner | None = None, lying: bool = False) -> Board:
    """One drawing, the same for a seed each time; in a manner drawn by lot unless it is given."""
    rng = random.Random(seed)
    document = ezdxf.new("R2010", setup=True)
    board = Board(manner or some_manner(rng), document, lie=rng.randrange(FEWEST) if lying else None)
    document.styles.new("LETTERS", dxfattribs={"font": board.manner.font})
    document.header["$LTSCALE"] = 3.0
    margin = 12.0
    corners = ((margin, margin), (PAPER_MM[0] - margin, PAPER_MM[1] - margin))
    (left, low), (right, high) = corners
    board.line((left, low), (right, low), (right, high), (left, high), closed=True)
    PARTS[seed % len(PARTS)](board, rng)
    if rng.random() < 0.7:
        scale = board.manner.scale
        unit = "INCHES" if board.manner.inch else "MILLIMETRES"
        board.note(f"SCALE {scale.numerator}:{scale.denominator}", f"DIMENSIONS IN {unit}", "MATERIAL: MILD STEEL")
    return board
