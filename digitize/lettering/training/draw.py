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
from digitize.lettering.training.inked import DRAWN_PX, a_pen
from digitize.lettering.training.legible import EASILY_LOST, MARKS, is_seen, set_apart
from digitize.lettering.training.phrases import phrase
from digitize.lettering.training.setting import LOOSE_GROUPS, Manner, Piece, bounds, manner, parted, set_phrase
from digitize.lettering.training.written import Fraction, Phrase

Rng = np.random.Generator
Grey = NDArray[np.uint8]
Box = tuple[float, float, float, float]
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
TRAINED_SHARES = {**GROUP_SHARES, "own": 0.27, "stroke": 0.12, "hand": 0.25, "technical": 0.12, "plain": 0.08}
LEVEL_SHARES = {"clean": 0.34, "medium": 0.42, "harsh": 0.24}
MIXED_SHARE, MIXED_FIGURES = 0.3, 0.4  # crops that take some figures from other faces, and how many
FIGURES = "0123456789"
TRIES = 4  # hands in which a phrase is tried before another is taken
SCANS = 3  # scans of one drawing
LEAST_HEIGHT_PX = {"medium": 11.0, "harsh": 9.0}  # ISO 3098's smallest figure, 1.8 mm, at 150 dpi is 10.6 pixels
NEIGHBOUR_SHARE = {"clean": 0.06, "medium": 0.24, "harsh": 0.24}  # crops into which other lettering reaches
SHOWN_SHARE = 0.55  # of a neighbour, at most: more would be lettering of the crop
WHOLE_LINE_SHARE = {"clean": 0.015, "medium": 0.035, "harsh": 0.035}  # crops that hold their whole dimension line
OVERDRAWN_SHARE = 0.012  # training crops of two figures over each other; scores hold none, since neither is the truth
OVERDRAWN_LONGEST = 12  # characters
OFF_CENTRE, OVERDRAWN_LIFT = 0.6, 0.3  # shares of both half widths; standard deviation in figure heights
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
        if faces.split == "train" and rng.random() < OVERDRAWN_SHARE:
            drawn = _overdrawn(rng, said, faces, level)
        else:
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


def _overdrawn(rng: Rng, said: Phrase, faces: Faces, level: str) -> Sample | None:
    """Two figures over each other, of which one is told: as often the other, so that neither is learnt to be sure."""
    other = phrase(rng)
    if not other.parts or max(len(said.text), len(other.text)) > OVERDRAWN_LONGEST:
        return None
    face = _face(rng, faces)
    how = manner(rng, face)
    below, above = (_distorted(rng, set_phrase(rng, each, how), how) for each in (said, other))
    pieces = below + _laid_over(rng, above, bounds(below))
    if set_apart([piece for piece in pieces if piece.char not in MARKS]):
        return None
    box = bounds(pieces)
    near = clutter(rng, box, level, stacked=False)
    crop = _scanned(rng, [], near + pieces, _cut(rng, box, level), level, 1.0)
    layout = Layout.STACK if said.stacked or other.stacked else Layout.ROW
    return Sample(crop, layout, said, face.name, face.group, level) if crop is not None else None


def _laid_over(rng: Rng, pieces: list[Piece], box: Box) -> list[Piece]:
    """Pieces moved so that they cover much of ``box``, or it them."""
    left, foot, right, top = bounds(pieces)
    slack = (right - left + box[2] - box[0]) / 2
    dx = (box[0] + box[2] - left - right) / 2 + float(rng.uniform(-OFF_CENTRE, OFF_CENTRE)) * slack
    dy = (box[1] + box[3] - foot - top) / 2 + float(rng.normal(0, OVERDRAWN_LIFT))
    return [piece.moved(dx, dy) for piece in pieces]


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
    wanted = TRAINED_SHARES if faces.split == "train" else GROUP_SHARES
    groups = [g for g in wanted if g == "own" or g in faces.by_group]
    shares = np.array([wanted[g] for g in groups])
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
    pen = a_pen(rng, any(piece.filled for piece in pieces))
    marks = [pen.drawn([piece], frame) for piece in pieces if piece.char in EASILY_LOST and piece.char]
    rest = pen.drawn([piece for piece in pieces if piece.char not in EASILY_LOST or not piece.char], frame)
    text = np.maximum.reduce([rest, *marks])
    lines = a_pen(rng, False).drawn(near, frame)
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
    np.maximum(ink, a_pen(rng, part.filled).drawn([part.moved(float(x), float(y))], frame), out=ink)
