"""Spur gears: front view with teeth in full or by circles, sectional side view, and a gear-data block with gaps."""

from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from samples.board import Board, View
from samples.dimensioning import linear
from samples.leaders import leader, rim_leader
from samples.notation import Figure, Notation, Value, decimal_text, fraction_text, joined, length
from samples.parts import PartPlan, Rng, TableRow, ViewPlan, key_inch, key_metric, nearest, pick, stepped
from samples.sections import hatch
from samples.truth import GearTruth

Xy = tuple[float, float]


@dataclass(frozen=True)
class System:
    """A tooth system: its key in the table of systems, heights in 1/P or in modules, and words for the sheet."""

    key: str
    angle: Fraction
    addendum: Fraction
    dedendum: Fraction
    words: str


# Heights: ASA B6.1-1932 (14 1/2 deg, stub), ANSI B6.1-1968 (20 deg coarse), DIN 867.
INCH_SYSTEMS = (
    System("asa_145_full", Fraction(29, 2), Fraction(1), Fraction(1157, 1000), "FULL DEPTH INVOLUTE"),
    System("agma_20_coarse", Fraction(20), Fraction(1), Fraction(5, 4), "FULL DEPTH INVOLUTE"),
    System("asa_20_stub", Fraction(20), Fraction(4, 5), Fraction(1), "STUB INVOLUTE"),
)
INCH_SHARES = (0.55, 0.25, 0.2)
METRIC_SYSTEM = System("din867", Fraction(20), Fraction(1), Fraction(5, 4), "INVOLUTE DIN 867")
PITCHES = (4, 5, 6, 8, 10, 12, 16)
MODULES = (Fraction(3, 2), Fraction(2), Fraction(5, 2), Fraction(3), Fraction(4), Fraction(5))
FEWEST_WITHOUT_UNDERCUT = 14


@dataclass(frozen=True)
class Gear:
    """A spur gear in the sheet's unit; ``pitch`` is the module there (1/P in inches)."""

    system: System
    teeth: int
    pitch: Fraction
    face: Fraction
    bore: Fraction
    hub: Fraction
    hub_length: Fraction
    web: Fraction | None
    rim: Fraction
    key: tuple[Fraction, Fraction] | None  # width, depth in the hub
    in_full: bool
    drawn_teeth: int = 0  # of a gear drawn by its circles: as many teeth at its top as an office troubled to draw

    @property
    def pitch_diameter(self) -> Fraction:
        """N/P."""
        return self.teeth * self.pitch

    @property
    def outside(self) -> Fraction:
        """Outside diameter."""
        return self.pitch_diameter + 2 * self.system.addendum * self.pitch

    @property
    def root(self) -> Fraction:
        """Root diameter."""
        return self.pitch_diameter - 2 * self.system.dedendum * self.pitch

    @property
    def recess(self) -> Fraction:
        """Inner diameter of the rim, where the web begins."""
        return self.root - 2 * self.rim


def design(rng: Rng, notation: Notation) -> Gear:
    """Choose a gear."""
    inch = notation.unit == "in"
    grain = Fraction(1, 8) if inch else Fraction(1)
    system = INCH_SYSTEMS[int(rng.choice(3, p=INCH_SHARES))] if inch else METRIC_SYSTEM
    pitch = Fraction(1, int(pick(rng, PITCHES))) if inch else pick(rng, MODULES)
    teeth = int(rng.integers(FEWEST_WITHOUT_UNDERCUT, 61))
    if pitch * teeth > (6 if inch else 150):
        teeth = max(FEWEST_WITHOUT_UNDERCUT, int((6 if inch else 150) / pitch))
    root = teeth * pitch - 2 * system.dedendum * pitch
    bore = nearest(float(root) * rng.uniform(0.22, 0.36), grain)
    hub = nearest(max(float(bore) * 1.75, float(bore) + 0.3 * float(grain)), grain)
    face = nearest(float(pitch) * rng.uniform(8, 12), grain)
    rim = nearest(float(pitch) * 2.0, grain / 2 if inch else grain)
    roomy = root - 2 * rim - hub > 6 * grain
    web = nearest(float(face) * 0.4, grain / 2 if inch else grain) if roomy and rng.random() < 0.8 else None
    seat = (key_inch(bore), key_inch(bore) / 2) if inch else (key_metric(bore)[0], key_metric(bore)[2])
    key = seat if rng.random() < 0.8 and seat[0] < bore / 2 else None
    longer = face + stepped(rng, 1, 4, Fraction(1)) * grain
    return Gear(system, teeth, pitch, face, bore, hub, longer, web, rim, key, bool(rng.random() < 0.4 and teeth <= 40))


def involute_flank(gear: Gear) -> list[tuple[float, float]]:
    """(radius, half tooth angle in rad) from the base (or root) to the tip of a flank, tooth axis at 0."""
    pressure = np.radians(float(gear.system.angle))
    pitch_r = float(gear.pitch_diameter) / 2
    base, tip, root = pitch_r * np.cos(pressure), float(gear.outside) / 2, float(gear.root) / 2
    involute = np.tan(pressure) - pressure
    flank = []
    for r in np.linspace(max(base, root), tip, 3):
        at = np.arccos(min(1.0, base / r))
        flank.append((float(r), float(np.pi / 2 / gear.teeth + involute - (np.tan(at) - at))))
    return flank


def _arc_through(a: Xy, b: Xy, c: Xy) -> tuple[Xy, float, float, float]:
    """Centre, radius, start and sweep (deg) of the arc from a over b to c."""
    m = 2 * np.array([[b[0] - a[0], b[1] - a[1]], [c[0] - a[0], c[1] - a[1]]])
    square = [p[0] ** 2 + p[1] ** 2 for p in (a, b, c)]
    x, y = np.linalg.solve(m, [square[1] - square[0], square[2] - square[0]])
    start, end = (float(np.degrees(np.arctan2(p[1] - y, p[0] - x))) for p in (a, c))
    turn = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    sweep = (end - start) % 360 if turn > 0 else -((start - end) % 360)
    return (float(x), float(y)), float(np.hypot(a[0] - x, a[1] - y)), start, sweep


def draw_teeth(gear: Gear, board: Board, view: View, teeth: range) -> None:
    """Draw teeth by number, the first at the top, counter-clockwise.

    Tip and root arcs, flanks as the draughtsman's one arc, radial below the base circle.
    """
    cx, cy = view.paper(0, 0)
    k = view.mm_per_unit
    flank, root = involute_flank(gear), float(gear.root) / 2
    half_tip, half_base = flank[-1][1], flank[0][1]
    step = 2 * np.pi / gear.teeth

    def point(r: float, angle: float) -> Xy:
        return cx + k * r * float(np.cos(angle)), cy + k * r * float(np.sin(angle))

    for tooth in teeth:
        middle = np.pi / 2 + tooth * step
        tip = np.degrees(middle - half_tip), np.degrees(2 * half_tip)
        board.bow((cx, cy), k * flank[-1][0], *tip, "visible", view.id)
        gap = step - 2 * half_base
        if len(teeth) == gear.teeth or tooth != teeth[-1]:
            board.bow((cx, cy), k * root, np.degrees(middle + half_base), np.degrees(gap), "visible", view.id)
        for side in (1, -1):
            points = [point(r, middle + side * a) for r, a in flank]
            centre, radius, start, sweep = _arc_through(*points)
            if sweep < 0:
                start, sweep = start + sweep, -sweep
            board.bow(centre, radius, start, sweep, "visible", view.id)
            board.stroke(point(root, middle + side * half_base), points[0], "visible", view.id)


def front(gear: Gear, board: Board, view: View) -> None:
    """Draw the front view."""
    in_full = gear.in_full and view.length(float(np.pi * gear.pitch)) > 4.0
    if in_full:
        draw_teeth(gear, board, view, range(gear.teeth))
    else:
        _rims(gear, board, view)
    board.circle(view, (0, 0), float(gear.pitch_diameter) / 2, "centre")
    if gear.web:
        board.circle(view, (0, 0), float(gear.recess) / 2)
    board.circle(view, (0, 0), float(gear.hub) / 2)
    _bore(gear, board, view)
    board.cross(view, (0, 0), view.length(float(gear.outside) / 2) + 5)


def _rims(gear: Gear, board: Board, view: View) -> None:
    """Outside and root circle, broken off beside the teeth that are drawn."""
    count = gear.drawn_teeth
    if count == 0:
        board.circle(view, (0, 0), float(gear.outside) / 2)
        board.circle(view, (0, 0), float(gear.root) / 2, "hidden")
        return
    first = -(count // 2)
    draw_teeth(gear, board, view, range(first, first + count))
    step = 360.0 / gear.teeth
    start, sweep = 90.0 + (first + count - 0.5) * step, 360.0 - count * step
    board.arc(view, (0, 0), float(gear.outside) / 2, start, sweep)
    board.arc(view, (0, 0), float(gear.root) / 2, start, sweep, "hidden")


def _bore(gear: Gear, board: Board, view: View) -> None:
    r = float(gear.bore) / 2
    if gear.key is None:
        board.circle(view, (0, 0), r)
        return
    half, top = float(gear.key[0]) / 2, r + float(gear.key[1])
    open_deg = float(np.degrees(np.arcsin(half / r)))
    board.arc(view, (0, 0), r, 90 + open_deg, 360 - 2 * open_deg)
    shoulder = float(np.sqrt(r * r - half * half))
    board.path(view, [(-half, shoulder), (-half, top), (half, top), (half, shoulder)])


def half_section(gear: Gear) -> list[Xy]:
    """Outline of the cut metal above the axis, in part units."""
    f, h = float(gear.face) / 2, float(gear.hub_length)
    low = float(gear.bore) / 2 + (float(gear.key[1]) if gear.key else 0.0)
    hub, root = float(gear.hub) / 2, float(gear.root) / 2
    if gear.web is None:
        return [(-f, low), (-f, root), (f, root), (f, hub), (h - f, hub), (h - f, low)]
    w, recess = float(gear.web) / 2, float(gear.recess) / 2
    left = [(-f, low), (-f, hub), (-w, hub), (-w, recess), (-f, recess), (-f, root)]
    return [*left, (f, root), (f, recess), (w, recess), (w, hub), (h - f, hub), (h - f, low)]


def section(gear: Gear, board: Board, view: View) -> None:
    """Draw the sectional side view."""
    f, h = float(gear.face) / 2, float(gear.hub_length)
    top, root = float(gear.outside) / 2, float(gear.root) / 2
    bore = float(gear.bore) / 2
    upper = half_section(gear)
    lower = [(x, -y if y > bore + 1e-9 else -bore) for x, y in upper]
    if gear.key:
        floor = bore + float(gear.key[1])
        lower = [(x, -bore if abs(y - floor) < 1e-9 else -y) for x, y in upper]
        board.line(view, (-f, bore), (h - f, bore))
    for ring in (upper, lower):
        board.path(view, ring, closed=True)
    for sign in (1, -1):
        board.path(view, [(-f, sign * root), (-f, sign * top), (f, sign * top), (f, sign * root)])
        pitch = sign * float(gear.pitch_diameter) / 2
        board.axis(view, (-f, pitch), (f, pitch), 3.0)
    ends = [(-f, bore), (-f, -bore)], [(h - f, bore), (h - f, -bore)]
    for p, q in ends:
        board.line(view, p, q)
    if gear.key:
        for x in (-f, h - f):
            board.line(view, (x, bore), (x, floor))
    board.axis(view, (-f, 0), (h - f, 0))
    hatch(board, view, upper)
    hatch(board, view, lower)


def front_dimensions(gear: Gear, notation: Notation, board: Board, view: View) -> None:
    """Dimension the front view: bore, keyseat, hub."""
    bore = length(notation, gear.bore, "diameter")
    figure = Figure(f"{length(notation, gear.bore).text} BORE", bore.values) if notation.diameter != "Ø" else bore
    rim_leader(
        board,
        view,
        "B",
        (0, 0),
        float(gear.bore) / 2,
        (225, 315, 210, 330),
        figure,
        reach=view.length(float(gear.outside - gear.bore)) / 2 + 8,
    )
    if gear.key:
        half, top = float(gear.key[0]) / 2, float(gear.bore) / 2 + float(gear.key[1])
        tip = view.paper(half, top)
        note = joined(length(notation, gear.key[0]), "×", length(notation, gear.key[1]), "KEYSEAT")
        leader(
            board,
            view,
            "K",
            tip,
            (60, 120, 45, 135),
            note,
            (view.paper(-half, top), view.paper(half, top)),
            reach=view.length(float(gear.outside - gear.bore)) / 2 + 9,
        )


def outside_figure(gear: Gear, notation: Notation) -> Figure:
    """Outside diameter as a sheet writes it."""
    places = None if notation.unit == "mm" or gear.outside.denominator in (1, 2, 4, 8) else 3
    return length(notation, gear.outside, "diameter", places)


def section_dimensions(gear: Gear, notation: Notation, board: Board, view: View) -> None:
    """Dimension the section: face, hub length, outside, hub, web, rim."""
    f, h = float(gear.face) / 2, float(gear.hub_length)
    top, hub = float(gear.outside) / 2, float(gear.hub) / 2
    linear(board, view, "F", (-f, top), (f, top), "x", length(notation, gear.face), side="top")
    linear(board, view, "HL", (-f, -hub), (h - f, -hub), "x", length(notation, gear.hub_length), side="bottom", level=0)
    linear(board, view, "HD", (h - f, -hub), (h - f, hub), "y", length(notation, gear.hub, "diameter"), side="right")
    linear(board, view, "OD", (f, -top), (f, top), "y", outside_figure(gear, notation), side="right", level=1)
    if gear.web:
        w, y = float(gear.web) / 2, -(float(gear.recess) / 2 + hub) / 2
        linear(board, view, "W", (-w, y), (w, y), "x", length(notation, gear.web), at=y, extend=False)


def _row(key: str, label: str, text: str, value: Fraction | None, unit: str, place: Fraction, style: str) -> TableRow:
    return TableRow(key, label, Figure(text, (Value("gear_data", value, unit, style, place, name=key),)))


def _size_row(key: str, label: str, value: Fraction, notation: Notation, places: int) -> TableRow:
    text = decimal_text(value, places, notation.unit == "mm")
    place = Fraction(1, 10**places)
    return _row(key, label, text, Fraction(text), notation.unit, place, f"decimal{places}")


def data_rows(gear: Gear, notation: Notation, rng: Rng) -> tuple[tuple[TableRow, ...], bool]:
    """The gear-data block with entries left out at random, and whether what is left settles the gear."""
    inch = notation.unit == "in"
    style = "integer" if gear.pitch.denominator == 1 or inch else "decimal1"
    places = 3 if inch else 2
    pitch_text = str(1 / gear.pitch) if inch else decimal_text(gear.pitch, 0 if style == "integer" else 1, True)
    pitch_value = 1 / gear.pitch if inch else gear.pitch
    angle_place = Fraction(1, gear.system.angle.denominator)
    depth = (gear.system.addendum + gear.system.dedendum) * gear.pitch
    pitch_key, pitch_label = ("diametral_pitch", "DIAMETRAL PITCH") if inch else ("module", "MODULE")
    rows = [
        _row("teeth", "NUMBER OF TEETH", str(gear.teeth), Fraction(gear.teeth), "count", Fraction(1), "integer"),
        _row(
            pitch_key,
            pitch_label,
            pitch_text,
            pitch_value,
            "none" if inch else "mm",
            Fraction(1) if style == "integer" else Fraction(1, 10),
            style,
        ),
        _row(
            "pressure_angle",
            "PRESSURE ANGLE",
            f"{fraction_text(gear.system.angle)}°",
            gear.system.angle,
            "deg",
            angle_place,
            "angle",
        ),
        _size_row("pitch_diameter", "PITCH DIAMETER", gear.pitch_diameter, notation, places),
        _size_row("outside_diameter", "OUTSIDE DIAMETER", gear.outside, notation, places),
        _size_row("whole_depth", "WHOLE DEPTH", depth, notation, places),
        _row("tooth_form", "TOOTH FORM", gear.system.words, None, "none", Fraction(1), "integer"),
    ]
    chance = {
        "teeth": 0.92,
        pitch_key: 0.9,
        "pressure_angle": 0.85,
        "pitch_diameter": 0.7,
        "outside_diameter": 0.5,
        "whole_depth": 0.6,
        "tooth_form": 0.55,
    }
    kept = tuple(row for row in rows if rng.random() < chance[row.key])
    return kept, decidable({row.key for row in kept}, gear, notation.unit)


@dataclass(frozen=True)
class Heights:
    """A tooth form that a sheet must be told from: angle in degrees, addendum, dedendum, its word."""

    angle: float
    addendum: float
    dedendum: float
    word: str


# The forms of the same unit that a print may hold: ASA B6.1-1932, ANSI B6.1-1968; DIN 867, ISO 53 D, 15 deg modules.
RIVALS = {
    "in": (Heights(14.5, 1, 1.157, "FULL"), Heights(20, 1, 1.157, "FULL"), Heights(20, 1, 1.25, "FULL"),
           Heights(20, 0.8, 1.0, "STUB")),
    "mm": (Heights(20, 1, 1.25, "DIN"), Heights(20, 1, 1.4, "FULL"), Heights(15, 1, 1.167, "FULL")),
}  # fmt: skip
SIZE_TOLERANCE = {"in": 0.0011, "mm": 0.011}  # two units of the last place that the block gives
MOST_TEETH = 160


def decidable(given: set[str], gear: Gear, unit: str) -> bool:
    """Whether only one gear, of all standard pitches and rival forms, has the entries that are given.

    The outside diameter counts as given, since the section shows it; so do teeth that are drawn in full.
    """
    tolerance = SIZE_TOLERANCE[unit]
    pitches = [float(1 / Fraction(p)) for p in range(1, 33)] if unit == "in" else [float(m) for m in MODULES]
    depth = float((gear.system.addendum + gear.system.dedendum) * gear.pitch)
    found = set()
    for form in RIVALS[unit]:
        if "pressure_angle" in given and abs(form.angle - float(gear.system.angle)) > 0.01:
            continue
        if "tooth_form" in given and form.word not in gear.system.words:
            continue
        for m in pitches:
            if given & {"diametral_pitch", "module"} and abs(m - float(gear.pitch)) > 1e-9:
                continue
            if "whole_depth" in given and abs((form.addendum + form.dedendum) * m - depth) > tolerance:
                continue
            teeth = round((float(gear.outside) - 2 * form.addendum * m) / m)
            if abs((teeth + 2 * form.addendum) * m - float(gear.outside)) > tolerance or teeth > MOST_TEETH:
                continue
            if "pitch_diameter" in given and abs(teeth * m - float(gear.pitch_diameter)) > tolerance:
                continue
            if ("teeth" in given or gear.in_full) and teeth != gear.teeth:
                continue
            found.add((form, m, teeth))
    return len(found) == 1


def truth(gear: Gear, notation: Notation, settled: bool) -> GearTruth:
    """The gear as the truth file states it."""
    module = float(gear.pitch) * (25.4 if notation.unit == "in" else 1.0)
    return GearTruth(gear.teeth, gear.system.key, module, 25.4 / module, float(gear.system.angle), settled)


NOTE_SHARE = 0.25  # of sheets with a note in place of a data block
NOTE_WORDS = {"teeth": "TEETH", "diametral_pitch": "D.P.", "module": "MODULE", "pressure_angle": "P.A."}


def data_note(rows: tuple[TableRow, ...]) -> Figure:
    """The same data as a note in a line: teeth, pitch, pressure angle."""
    pieces = [joined(row.figure, NOTE_WORDS[row.key]) for row in rows if row.key in NOTE_WORDS]
    return joined(*pieces)


INCH_SCREWS = (("#10-24", Fraction(19, 100)), ("1/4-20", Fraction(1, 4)), ("5/16-18", Fraction(5, 16)))
METRIC_SCREWS = (("M5", Fraction(5)), ("M6", Fraction(6)), ("M8", Fraction(8)))
HALF_ROUND = ("404", "606", "808")
"""Numbers of half-round keys (ANSI B17.2) for bores about 1/2, 3/4 and 1 in or more."""


def plan_of_few_teeth(rng: Rng, notation: Notation) -> PartPlan:
    """A spur gear of which a few teeth are drawn, the rest by its circles; a note names its set-screw or key."""
    drawn = int(rng.integers(3, 7))
    part = plan(rng, notation, drawn)
    thread, major = pick(rng, INCH_SCREWS if notation.unit == "in" else METRIC_SCREWS)
    notes = [("SS", _set_screw(thread, major, notation.unit))]
    if notation.unit == "in" and rng.random() < 0.5:
        notes.append(("WK", Figure(f"NO. {pick(rng, HALF_ROUND)} WOODRUFF KEY", ())))
    return replace(part, notes=(*part.notes, *notes))


def _set_screw(thread: str, major: Fraction, unit: str) -> Figure:
    place = Fraction(1, 64) if unit == "in" else Fraction(1)
    value = Value("thread", major, unit, "fraction" if unit == "in" else "integer", place, name=thread)
    return Figure(f"{thread} SET SCREW", (value,))


def plan(rng: Rng, notation: Notation, drawn_teeth: int = 0) -> PartPlan:
    """A spur gear, ready to be drawn; with ``drawn_teeth`` only so many of its teeth in any case."""
    gear = design(rng, notation)
    if drawn_teeth:
        gear = replace(gear, in_full=False, drawn_teeth=drawn_teeth)
    rows, settled = data_rows(gear, notation, rng)
    notes: tuple[tuple[str, Figure], ...] = ()
    if rng.random() < NOTE_SHARE:
        kept = tuple(row for row in rows if row.key in NOTE_WORDS)
        notes, rows = ((("GN", data_note(kept)),) if kept else ()), ()
        settled = decidable({row.key for row in kept}, gear, notation.unit)
    top, f, h = float(gear.outside) / 2, float(gear.face) / 2, float(gear.hub_length)
    views = (
        ViewPlan("front", (-top, -top, top, top), (22.0, 24.0, 16.0, 26.0),
                 lambda board, at: front(gear, board, at),
                 lambda board, at: front_dimensions(gear, notation, board, at)),
        ViewPlan("section", (-f, -top, h - f, top), (18.0, 24.0, 32.0, 22.0),
                 lambda board, at: section(gear, board, at),
                 lambda board, at: section_dimensions(gear, notation, board, at)),
    )  # fmt: skip
    unit_mm2 = 25.4**2 if notation.unit == "in" else 1.0
    ring = np.array(half_section(gear))
    x, y = ring.T
    area = abs(float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))) / 2 * unit_mm2
    bored, toothed = float(ring[0][1]) * h, (top - float(gear.root) / 2) * 2 * f
    title = pick(rng, ("SPUR GEAR", "CHANGE WHEEL", "PINION", "FEED GEAR", "DRIVING GEAR", "BACK GEAR"))
    return PartPlan(
        "gear",
        title,
        notation,
        views,
        rows,
        notes,
        gear=truth(gear, notation, settled),
        areas=(("section", area),),
        outlines=(("section", 2 * (area + (bored + toothed) * unit_mm2)),),
        material=pick(rng, ("C.I.", "STEEL", "BRONZE", "MALLEABLE IRON")),
    )
