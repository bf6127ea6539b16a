"""One training crop: a phrase in a face, cluttered, damaged and cut out, with what it says."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from digitize.lettering.frame import framed
from digitize.lettering.text import Layout
from digitize.lettering.training.clutter import clutter, nothing_written, whole_line
from digitize.lettering.training.damage import damaged
from digitize.lettering.training.faces import Face, Points
from digitize.lettering.training.hand import hand, with_signs
from digitize.lettering.training.legible import EASILY_LOST, is_seen, set_apart
from digitize.lettering.training.phrases import phrase
from digitize.lettering.training.setting import LOOSE_GROUPS, Manner, Piece, bounds, manner, parted, set_phrase
from digitize.lettering.training.written import Fraction, Phrase

Rng = np.random.Generator
Grey = NDArray[np.uint8]
Box = tuple[float, float, float, float]
DRAWN_PX = 36  # pixels to a figure height while drawing; the scan's resolution comes after
SUBPIXEL_BITS = 4
FINE = np.array((DRAWN_PX << SUBPIXEL_BITS, -(DRAWN_PX << SUBPIXEL_BITS)), np.float32)  # figure heights to these
GROUP_SHARES = {
    "own": 0.33,
    "stroke": 0.14,
    "hand": 0.15,
    "technical": 0.13,
    "plain": 0.09,
    "typewriter": 0.03,
    "stencil": 0.02,
    "book": 0.11,
}
LEVEL_SHARES = {"clean": 0.34, "medium": 0.42, "harsh": 0.24}
MIXED_SHARE, MIXED_FIGURES = 0.3, 0.4  # crops that take some figures from other faces, and how many
FIGURES = "0123456789"
TRIES = 4  # hands in which a phrase is tried before another is taken
SCANS = 3  # scans of one drawing
LEAST_HEIGHT_PX = {"medium": 11.0, "harsh": 9.0}  # ISO 3098's smallest figure, 1.8 mm, at 150 dpi is 10.6 pixels
NEIGHBOUR_SHARE = {"clean": 0.06, "medium": 0.24, "harsh": 0.24}  # crops into which other lettering reaches
SHOWN_SHARE = 0.55  # of a neighbour, at most: more would be lettering of the crop
WHOLE_LINE_SHARE = {"clean": 0.015, "medium": 0.035, "harsh": 0.035}  # crops that hold their whole dimension line
LONGEST = 40  # characters; longer rows would only fill the batches


@dataclass(frozen=True)
class Faces:
    """Faces of one split, by group; ``letters`` lend their letters to our own hands."""

    by_group: dict[str, tuple[Face, ...]]
    letters: tuple[Face, ...]
    split: str


@dataclass(frozen=True)
class Sample:
    """A crop as cut from a sheet, and its truth."""

    crop: Grey
    layout: Layout
    phrase: Phrase
    face: str
    group: str
    level: str

    @property
    def picture(self) -> Grey:
        """The crop in the network's frame."""
        return framed(self.crop, self.layout)


def split_faces(faces: Sequence[Face], split: str) -> Faces:
    """The faces of one split."""
    kept = [face for face in faces if face.split == split]
    groups = {face.group for face in kept}
    letters = tuple(face for face in kept if face.group == "stroke")
    return Faces({g: tuple(f for f in kept if f.group == g) for g in groups}, letters, split)


def sample(rng: Rng, faces: Faces, level: str | None = None) -> Sample:
    """Draw one sample in which all that is written can be seen; a level may be asked for."""
    level = level or str(rng.choice(list(LEVEL_SHARES), p=list(LEVEL_SHARES.values())))
    while True:
        said = phrase(rng)
        if not said.parts:
            return _nothing(rng, said, level)
        drawn = _written(rng, said, faces, level) if len(said.text) <= LONGEST else None
        if drawn is not None:
            return drawn


def _written(rng: Rng, said: Phrase, faces: Faces, level: str) -> Sample | None:
    """The phrase in some hand; None where it cannot be seen."""
    for _ in range(TRIES):
        face = _face(rng, faces)
        how = manner(rng, face)
        pieces = _distorted(rng, set_phrase(rng, said, how), how)
        if not set_apart(pieces):
            continue
        box = bounds(pieces)
        near = clutter(rng, box, level, said.stacked)
        frame = _cut(rng, box, level)
        if rng.random() < WHOLE_LINE_SHARE[level]:
            line, ends = whole_line(rng, box)
            near, frame = near + line, (ends[0], frame[1], ends[1], frame[3])
        crop = _scanned(rng, pieces, near, frame, level, _tallest(said))
        if crop is not None:
            return Sample(crop, _layout(rng, said), said, face.name, face.group, level)
    return None


def _layout(rng: Rng, said: Phrase) -> Layout:
    """As a finder would judge it: now and then wrong, and either way for a sloping fraction."""
    sloped = any(isinstance(part, Fraction) and part.form == "slope" for part in said.parts)
    taken = rng.random() < 0.35 if sloped and not said.stacked else said.stacked != (rng.random() < 0.05)
    return Layout.STACK if taken else Layout.ROW


def _nothing(rng: Rng, said: Phrase, level: str) -> Sample:
    pieces, box = nothing_written(rng)
    layout = Layout.STACK if rng.random() < 0.4 else Layout.ROW
    crop = _scanned(rng, [], pieces, _cut(rng, box, level), level, 1.0)
    assert crop is not None  # nothing is written that could be lost
    return Sample(crop, layout, said, "none", "none", level)


def _tallest(said: Phrase) -> float:
    return 1.0 if not said.stacked else 0.85


def _face(rng: Rng, faces: Faces) -> Face:
    groups = [g for g in GROUP_SHARES if g == "own" or g in faces.by_group]
    shares = np.array([GROUP_SHARES[g] for g in groups])
    group = str(rng.choice(groups, p=shares / shares.sum()))
    if group == "own":
        face = hand(rng, faces.letters[rng.integers(len(faces.letters))], faces.split)
    else:
        face = faces.by_group[group][rng.integers(len(faces.by_group[group]))]
        if faces.split == "train" and rng.random() < MIXED_SHARE:
            face = _mixed(rng, face, faces.by_group[group])
    return with_signs(rng, face)


def _mixed(rng: Rng, face: Face, others: Sequence[Face]) -> Face:
    """The face with some of its figures taken from others of its group."""
    glyphs = dict(face.glyphs)
    for figure in FIGURES:
        other = others[int(rng.integers(len(others)))].glyphs.get(figure)
        if other is not None and rng.random() < MIXED_FIGURES:
            glyphs[figure] = other
    return replace(face, glyphs=glyphs)


def _distorted(rng: Rng, pieces: list[Piece], how: Manner) -> list[Piece]:
    """Slant, a smooth wobble of the hand, and a slight turn of the whole."""
    lean = math.tan(math.radians(how.slant_deg))
    angle = math.radians(float(np.clip(rng.normal(0, 1.2), -5, 5)))
    turn = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]], np.float32)
    slanted = np.array([[1, 0], [lean, 1]], np.float32) @ turn
    size = float(rng.exponential(0.014)) if how.face.group in LOOSE_GROUPS else float(rng.exponential(0.004))
    waves = rng.normal(0, 2.5, (3, 2)).astype(np.float32)
    phases = rng.uniform(0, 6.3, (2, 3)).astype(np.float32)
    sizes = rng.normal(0, size, (2, 3)).astype(np.float32)
    points = np.concatenate([p for piece in pieces for p in piece.parts])
    at = points @ waves.T
    offsets = np.stack([np.sin(at + phases[0]) @ sizes[0], np.sin(at + phases[1]) @ sizes[1]], axis=1)
    return _with_points(pieces, (points + offsets) @ slanted)


def _with_points(pieces: Sequence[Piece], points: Points) -> list[Piece]:
    """The pieces with all their points replaced, in order."""
    parts = iter(parted(points, [part for piece in pieces for part in piece.parts]))
    return [replace(piece, parts=tuple(itertools.islice(parts, len(piece.parts)))) for piece in pieces]


def _cut(rng: Rng, box: Box, level: str) -> Box:
    """The finder's box: some 0.3 figure heights of margin, seldom exact, now and then cutting in, or loose."""
    spread = 0.06 if level == "clean" else 0.12
    left, foot, right, top = np.clip(rng.normal(0.3, spread, 4), 0.02, 0.8)
    if level != "clean" and rng.random() < 0.04:
        margins = [left, foot, right, top]
        margins[rng.integers(4)] = float(rng.uniform(-0.05, 0.04))
        left, foot, right, top = margins
    if rng.random() < 0.06:
        left, right = left + rng.uniform(0, 1.0), right + rng.uniform(0, 1.0)
    if rng.random() < (0.04 if level == "clean" else 0.15):
        left, foot, right, top = np.array((left, foot, right, top)) + rng.exponential((0.35, 0.15, 0.35, 0.15))
    return box[0] - left, box[1] - foot, box[2] + right, box[3] + top


def _scanned(rng: Rng, pieces: list[Piece], near: list[Piece], frame: Box, level: str, least: float) -> Grey | None:
    """Draw, bring to the scan's resolution, damage; None if every scan loses some of it."""
    pen = _pen(rng, any(piece.filled for piece in pieces))
    marks = [pen.drawn([piece], frame) for piece in pieces if piece.char in EASILY_LOST and piece.char]
    rest = pen.drawn([piece for piece in pieces if piece.char not in EASILY_LOST or not piece.char], frame)
    text = np.maximum.reduce([rest, *marks])
    lines = _pen(rng, False).drawn(near, frame)
    if pieces and near and rng.random() < 0.3:
        reach = int(rng.integers(3, 11))
        lines[cv2.dilate(text, np.ones((reach, reach), np.uint8)) > 0] = 0
    ink = np.maximum(text, lines)
    if pieces and rng.random() < NEIGHBOUR_SHARE[level]:
        for _ in range(int(rng.integers(1, 4))):
            _neighbour(rng, ink, pieces, frame)
    scale = _height_px(rng, level, least) / DRAWN_PX
    sized = _resized(ink, scale)
    small = [_resized(mark, scale) for mark in marks]
    for _ in range(SCANS):
        scan = damaged(rng, sized, level)
        if not pieces or is_seen(scan, _resized(text, scale), small):
            return scan
    return None


def _height_px(rng: Rng, level: str, least: float) -> float:
    """Pixels to a figure height, fewer for stacks, whose block is taller."""
    if level == "clean":
        return float(rng.uniform(14, 60))
    return float(np.exp(rng.uniform(np.log(LEAST_HEIGHT_PX[level] / least), np.log(62.0))))


def _resized(ink: Grey, scale: float) -> Grey:
    size = (max(4, round(ink.shape[1] * scale)), max(4, round(ink.shape[0] * scale)))
    return np.asarray(cv2.resize(ink, size, interpolation=cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR), np.uint8)


@dataclass(frozen=True)
class Pen:
    """One pen, or one type's weight: ``nib`` shifts in fixed-point pixels, ``weight`` pixels of growth or of loss."""

    nib: NDArray[np.int32]
    weight: int
    shape: tuple[int, int]

    def drawn(self, pieces: Sequence[Piece], frame: Box) -> Grey:
        """Share of ink, 0 to 255, of pieces in a frame."""
        left, foot, right, top = frame
        image = np.zeros((max(8, round((top - foot) * DRAWN_PX)), max(8, round((right - left) * DRAWN_PX))), np.uint8)
        for piece in pieces:
            points = parted(_pixels(np.concatenate(piece.parts), left, top), piece.parts)
            if piece.filled:
                cv2.fillPoly(image, points, 255, cv2.LINE_AA, SUBPIXEL_BITS)
                continue
            thick = max(1, round(piece.pen * DRAWN_PX))
            for shift in self.nib:
                cv2.polylines(image, [p + shift for p in points], False, 255, thick, cv2.LINE_AA, SUBPIXEL_BITS)
        if not self.weight:
            return image
        kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, self.shape)
        return np.asarray((cv2.dilate if self.weight > 0 else cv2.erode)(image, kernel), np.uint8)


def _pen(rng: Rng, filled: bool) -> Pen:
    weight = 0 if not filled or rng.random() < 0.5 else 1 if rng.random() < 0.6 else -1
    return Pen(_nib(rng), weight, (3, 3) if rng.random() < 0.6 else (2, 2))


def _nib(rng: Rng) -> NDArray[np.int32]:
    """Shifts of a broad nib, which swells the strokes across it; a round pen has one."""
    if rng.random() < 0.65:
        return np.zeros((1, 1, 2), np.int32)
    wide, angle = float(rng.uniform(0.02, 0.12)), float(rng.normal(0.2, 0.4))
    ends = wide * DRAWN_PX * np.array([math.cos(angle), -math.sin(angle)])
    steps = np.array([-0.5, 0.0, 0.5])[:, None] * ends
    return np.asarray(np.round(steps * (1 << SUBPIXEL_BITS)), np.int32)[:, None, :]


def _pixels(points: Points, left: float, top: float) -> NDArray[np.int32]:
    scaled = (points - np.array((left, top), np.float32)) * FINE
    return np.rint(scaled).astype(np.int32)[:, None, :]


def _neighbour(rng: Rng, ink: Grey, pieces: list[Piece], frame: Box) -> None:
    """Pieces of the row above or below, or of the next figure, that reach into the crop."""
    part = pieces[rng.integers(len(pieces))]
    low, high = np.min([p.min(axis=0) for p in part.parts], axis=0), np.max([p.max(axis=0) for p in part.parts], axis=0)
    side = rng.integers(4)
    deep = float(rng.uniform(0.03, 0.26)) if rng.random() < 0.4 else float(rng.uniform(0.03, 0.16))
    reach = min(deep, SHOWN_SHARE * float((high - low)[1 if side < 2 else 0]) + part.pen / 2)
    left, foot, right, top = frame
    x, y = float(rng.uniform(left, right)) - low[0], float(rng.uniform(foot, top)) - low[1]
    if side == 0:
        y = top - reach - low[1]
    elif side == 1:
        y = foot + reach - high[1]
    elif side == 2:
        x = left + reach - high[0]
    else:
        x = right - reach - low[0]
    np.maximum(ink, _pen(rng, part.filled).drawn([part.moved(float(x), float(y))], frame), out=ink)
