"""One training crop: a phrase in a face, cluttered, damaged and cut out, with what it says."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from digitize.lettering.frame import framed
from digitize.lettering.text import Layout
from digitize.lettering.training.clutter import clutter, whole_line
from digitize.lettering.training.faces import Face, Points
from digitize.lettering.training.hand import hand, with_signs
from digitize.lettering.training.legible import MARKS, set_apart
from digitize.lettering.training.manners import LOOSE_GROUPS, Manner, manner
from digitize.lettering.training.no_lettering import nothing_written
from digitize.lettering.training.phrases import phrase
from digitize.lettering.training.pieces import Piece, bounds, parted
from digitize.lettering.training.scanned import LOOSE_SHARE, TRAINED_LOOSE_SHARE, cut, scanned
from digitize.lettering.training.setting import set_phrase
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
        frame = cut(rng, box, level, TRAINED_LOOSE_SHARE if faces.split == "train" else LOOSE_SHARE)
        if rng.random() < WHOLE_LINE_SHARE[level]:
            line, ends = whole_line(rng, box)
            near, frame = near + line, (ends[0], frame[1], ends[1], frame[3])
        crop = scanned(rng, pieces, near, frame, level, _tallest(said))
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
    crop = scanned(rng, [], near + pieces, cut(rng, box, level), level, 1.0)
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
    crop = scanned(rng, [], pieces, cut(rng, box, level), level, 1.0)
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
