"""A phrase set in a face: where each stroke and outline lies, in figure heights, y upwards."""

import math
import re

import numpy as np

from digitize.lettering.training.faces import Glyph, Points
from digitize.lettering.training.manners import AXIS, Manner
from digitize.lettering.training.pieces import BAR, Piece, parted
from digitize.lettering.training.written import Fraction, Pair, Phrase

Rng = np.random.Generator
SPACE_PER_TRACKING = 0.7  # the wider the letters are set apart, the wider words must be, or no gap tells them
SMALL_PEN = 0.15  # of a small figure's own height: more would fill its counters
LEAST_GAP = 0.8  # of a word space, between a whole number and its fraction in a row
RAISED = 0.45  # figure heights by which some hands letter foot and inch marks above the row
SMALL_MARKS, HIGH_MARKS = (0.5, 0.9), (0.15, 0.65)  # of a mark's usual size; figure heights above the fraction
SMALL_BETWEEN = 0.5  # of the marks between a whole number and its fraction: small, and so high that they clear both
WELL_RAISED_SHARE, WELL_RAISED = 0.3, (1.5, 2.6)  # of raised marks; in `RAISED`: wholly above the figures
FAR_SHARE, FAR = 0.2, (0.1, 0.5)  # of inch marks: set apart from the figure before, in figure heights
LONG_STROKE_SHARE, LONG_STROKE = 0.25, (0.2, 0.5)  # of sloping fractions; of its length, by which either end goes on
WARP_WAVES = 2  # smooth waves that change a glyph's shape
THIN = "\u2009"  # a gap that some hands leave and others don't; canonical text does not tell
_SIGN_GAP = re.compile(r"^(Ø|□|S?R)(?=[\d.]|$)|[°'](?=\d)")
_UNIT_GAP = re.compile(r"(?<=[\d\"]) (?=(?:R|D\.?|DIA\.?|DIAM|RAD|Rad\.|Dia\.|SQ|HEX|MM)$)")
_MARKS = re.compile("(['\"])")
SMALLEST_SLOPED = 0.8  # of a barred fraction's figures: those about a sloping stroke are smaller
MOST_STRAYED = 0.25  # of a proportion: more, and a glyph is another


def set_phrase(rng: Rng, phrase: Phrase, how: Manner) -> list[Piece]:
    """Set all parts of a phrase from left to right, starting at (0, 0)."""
    setter = _Setter(rng, how)
    for part in phrase.parts:
        if isinstance(part, Pair):
            setter.pair(part)
        elif isinstance(part, Fraction):
            setter.fraction(part)
        else:
            setter.text(part)
    return setter.pieces


class _Setter:
    def __init__(self, rng: Rng, how: Manner) -> None:
        self.rng, self.how = rng, how
        self.pieces: list[Piece] = []
        self._shapes: dict[str, Points] = {}
        self._widths: dict[str, float] = {}
        self.x = 0.0
        self._mark_y: float | None = None
        self._mark_back = 0.0

    def text(self, text: str) -> None:
        """Set a row; a mark right after a stacked fraction stands high beside or over its numerator."""
        if self._mark_y is not None and text[0] in "\"'°" and self.how.mark_place != "row":
            self._high_mark(text[0], self._mark_y - 1.0)
            text = text[1:]
        self._mark_y = None
        text = _UNIT_GAP.sub(THIN, _SIGN_GAP.sub(self._thin, text))
        for piece in _MARKS.split(text):
            self._row(piece, RAISED if self.how.marks_raised and piece in ("'", '"') else 0.0)

    def _high_mark(self, sign: str, lift: float) -> None:
        """Set a mark beside the top of a fraction, leaning over it, or small and well above it as engravers did."""
        how, rng = self.how, self.rng
        if how.mark_place == "high" and sign == '"':
            scale = rng.uniform(*SMALL_MARKS)
            lift += 1.0 - scale + rng.uniform(*HIGH_MARKS)
            pieces, _ = self._run(sign, scale, self.x - rng.uniform(0.3, 0.9), lift)
            self.pieces += pieces
            return
        back = self._mark_back if how.mark_place == "over" else 0.0
        lift += rng.uniform(-0.1, 0.12 + back / 3) + (rng.exponential(RAISED) if how.marks_raised else 0.0)
        apart = 0.0 if back else self._apart()
        pieces, width = self._run(sign, 1.0, self.x + apart - back, lift)
        self.pieces += pieces
        self.x += apart + max(0.0, width - back)

    def _thin(self, sign: re.Match[str]) -> str:
        return sign[0] + (THIN if self.rng.random() < 0.2 else "")

    def _row(self, text: str, raised: float = 0.0) -> None:
        """Set a piece of a row; a raised mark stands over the gap or over what follows, inch marks perhaps apart."""
        well = raised and self._engraved(WELL_RAISED_SHARE)
        lift = self.rng.uniform(*(WELL_RAISED if well else (0.5, 1.5))) * raised
        apart = self._apart() if text == '"' else 0.0
        pieces, width = self._run(text, 1.0, self.x + apart - lift / 3, lift)
        self.pieces += pieces
        self.x += apart + width * (self.rng.uniform(0.0, 0.5) if raised else 1.0)

    def _apart(self) -> float:
        return float(self.rng.uniform(*FAR)) if self._engraved(FAR_SHARE) else 0.0

    def _engraved(self, share: float) -> bool:
        return self.how.engraved and bool(self.rng.random() < share)

    def fraction(self, part: Fraction) -> None:
        """Set a fraction after a small gap if a whole number stands before it."""
        before = self.x
        if part.form == "row":
            # The wider the figures are set, the wider the gap must be to be seen.
            loose = max(0.0, self.how.tracking - 1.0)
            self.x += max(0.32 + self.how.whole_gap + loose, LEAST_GAP * self.how.space) if before else 0.0
            self.text(f"{part.over}/{part.under}")
            return
        if part.mark:
            self._mark_between(part.mark)
        self.x += self.how.whole_gap if before else 0.0
        (self._barred if part.form == "bar" else self._sloped)(part)

    def _mark_between(self, mark: str) -> None:
        """Set a mark between a whole number and its fraction, or small and above the gap between them."""
        rng = self.rng
        small = self._engraved(SMALL_BETWEEN)
        scale = rng.uniform(*SMALL_MARKS) if small else 1.0
        lift = 1.0 - scale + rng.uniform(0.0, HIGH_MARKS[1] if small else 0.4)
        pieces, width = self._run(mark, scale, self.x - rng.uniform(0.05, 0.3 if small else 0.2), lift)
        self.pieces += pieces
        self.x += width * rng.uniform(-0.3 if small else 0.0, 0.5)

    def _barred(self, part: Fraction) -> None:
        how, rng, axis = self.how, self.rng, self.how.axis
        scale, gap = how.fraction_scale, how.fraction_gap + how.pen / 2
        over, over_width = self._run(part.over, scale, 0.0, axis + gap)
        under, under_width = self._run(part.under, scale, 0.0, axis - gap - scale)
        wide = max(over_width, under_width)
        lean = math.tan(math.radians(how.bar_tilt_deg)) * 0.5 if abs(how.bar_tilt_deg) > 6 else 0.0
        self._put(over, self.x + (wide - over_width) / 2 + rng.normal(0, 0.02) - lean * 0.3)
        self._put(under, self.x + (wide - under_width) / 2 + rng.normal(0, 0.02) + lean * 0.3)
        long = max(wide - 0.15, 0.3) + 2 * how.bar_overhang
        middle = self.x + max(wide - 0.15, 0.3) / 2 + rng.normal(0, 0.03)
        rise = math.tan(math.radians(how.bar_tilt_deg)) * long / 2
        bar = np.array([[middle - long / 2, axis - rise], [middle + long / 2, axis + rise]], np.float32)
        self.pieces.append(Piece((bar,), False, how.pen * rng.uniform(0.5, 1.1), BAR))
        self.x = max(self.x + wide, middle + long / 2 + 0.06)
        self._mark_y, self._mark_back = axis + gap + scale, float(rng.uniform(0.15, 0.4))

    def _sloped(self, part: Fraction) -> None:
        how, rng = self.how, self.rng
        scale = min(how.fraction_scale, 0.8) * rng.uniform(SMALLEST_SLOPED, 1.0)
        over, over_width = self._run(part.over, scale, self.x, 1.0 - scale + rng.uniform(-0.05, 0.25))
        top_x, wide = self.x + over_width + rng.uniform(-0.12, 0.2), rng.uniform(0.2, 0.75)
        slash = np.array([[top_x - wide, rng.uniform(-0.2, 0.1)], [top_x, rng.uniform(0.9, 1.25)]], np.float32)
        if self._engraved(LONG_STROKE_SHARE):
            slash += (slash[1] - slash[0]) * np.array([[-1], [1]], np.float32) * rng.uniform(*LONG_STROKE, (2, 1))
        under_x = top_x - 0.7 * wide + rng.uniform(0.02, 0.22)
        under, under_width = self._run(part.under, scale, under_x, rng.uniform(-0.2, 0.05))
        self.pieces += [*over, Piece((slash,), False, how.pen * rng.uniform(0.4, 1.0), BAR), *under]
        self.x = max(top_x, under_x + under_width)
        self._mark_y, self._mark_back = 1.0 + rng.uniform(-0.05, 0.2), float(rng.uniform(0.15, 0.5))

    def pair(self, part: Pair) -> None:
        """Set limits or deviations, flush left or centred."""
        how, rng = self.how, self.rng
        scale, gap = how.stack_scale, how.stack_gap / 2
        self.x += rng.uniform(0.1, 0.4) if self.x else 0.0
        over, over_width = self._run(part.upper, scale, 0.0, AXIS + gap)
        under, under_width = self._run(part.lower, scale, 0.0, AXIS - gap - scale)
        wide = max(over_width, under_width)
        centred = rng.random() < 0.3
        self._put(over, self.x + ((wide - over_width) / 2 if centred else 0.0))
        self._put(under, self.x + ((wide - under_width) / 2 if centred else 0.0))
        self.x += wide + rng.uniform(0, 0.2)
        self._mark_y = None

    def _put(self, pieces: list[Piece], x: float) -> None:
        self.pieces += [piece.moved(x, 0.0) for piece in pieces]

    def _run(self, text: str, scale: float, x: float, y: float) -> tuple[list[Piece], float]:
        """Glyphs of a row set from (x, y), and its width."""
        how, made, start = self.how, [], x
        space = how.space * max(1.0, how.tracking) + SPACE_PER_TRACKING * max(0.0, how.tracking - 1.0)
        for char in text:
            glyph = how.face.glyphs.get(char)
            if glyph is None:
                x += scale * (how.space * self.rng.uniform(0.1, 0.9) if char == THIN else space)
                continue
            size = scale * how.variety.figures if char.isdigit() else scale
            matrix, shift = self._loosened(size)
            points = self._shape(char, glyph) @ matrix + (shift + np.array((x, y), np.float32))
            pen = 0.0 if glyph.filled else min(how.pen, SMALL_PEN * size)
            made.append(Piece(tuple(parted(points, glyph.parts)), glyph.filled, pen, char))
            x += glyph.advance * self._widths[char] * size * how.tracking + self._gap(size)
        return made, x - start

    def _gap(self, size: float) -> float:
        """What a hand adds to the gap after a glyph, or takes from it."""
        most = self.how.variety.gaps
        return size * float(np.clip(self.rng.normal(0, most), -most, 2 * most)) if most else 0.0

    def _shape(self, char: str, glyph: Glyph) -> Points:
        """All points of the glyph as this hand makes it, every time: its face's shape, smoothly changed."""
        if char not in self._shapes:
            waves = self.rng.normal(0, 3.0, (2, WARP_WAVES)).astype(np.float32)
            phases = self.rng.uniform(0, 2 * math.pi, WARP_WAVES).astype(np.float32)
            sizes = self.rng.normal(0, self.how.warp, (WARP_WAVES, 2)).astype(np.float32)
            points = np.concatenate(glyph.parts)
            strayed = self._strayed(points) if self.how.variety.proportions else (points, 1.0)
            self._shapes[char] = strayed[0] + np.sin(points @ waves + phases) @ sizes
            self._widths[char] = strayed[1]
        return self._shapes[char]

    def _strayed(self, points: Points) -> tuple[Points, float]:
        """The glyph in proportions of this hand, and how wide it has become: its foot and its top stay."""
        most = self.how.variety.proportions
        waist, wide, lean = np.clip(self.rng.normal(0, most, 3), -MOST_STRAYED, MOST_STRAYED)
        rise = np.sin(math.pi * np.clip(points[:, 1], 0, 1))
        x = points[:, 0] * (1 + 2 * wide) + lean * rise / 2
        return np.stack([x, points[:, 1] + waist * rise], axis=1).astype(np.float32), float(1 + 2 * wide)

    def _loosened(self, scale: float) -> tuple[Points, Points]:
        """A glyph's own small error of size, lean, turn and place."""
        loose = self.how.looseness
        turn, lean, wide, tall, dx, dy = self.rng.normal(0, loose, 6)
        matrix = scale * np.array([[1 + wide, turn], [lean - turn, 1 + tall]], np.float32)
        return matrix, np.array([dx, dy], np.float32) * scale
