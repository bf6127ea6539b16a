"""Glyphs of the faces in faces.toml, packed into one small file that travels to the training machine."""

import io
import subprocess
import tarfile
import tempfile
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from fontTools.pens.basePen import BasePen
from numpy.typing import NDArray

from digitize.lettering.stacks import UPPER_ALPHABET

Points = NDArray[np.float32]
TABLE = Path(__file__).with_name("faces.toml")
DEBIAN_FOLDER = Path("/usr/share/fonts")
CURVE_STEPS = 5  # points to a Bezier arc of an outline: smooth at 60 px figures
OUTLINE_MARGIN = 1e-6
BOLD = "700"  # a face's style that names its weight and not its slant
TALL_FIGURE = "8"  # stands on the base line at full height even where 1 is low and 9 hangs


@dataclass(frozen=True)
class Glyph:
    """One drawn character: outlines to fill, or strokes to draw with a pen.

    ``parts`` (each (N, 2)) and ``advance`` are in heights of the face's figures, y upwards from the base line.
    """

    parts: tuple[Points, ...]
    advance: float
    filled: bool


@dataclass(frozen=True)
class Face:
    """A face and its glyphs by character; only its ``split`` ("train", "calibrate" or "test") may see it."""

    name: str
    group: str
    split: str
    glyphs: dict[str, Glyph]


def pack(target: Path) -> None:
    """Fetch every face and write its glyphs to ``target`` (npz)."""
    faces = list(_all_faces())
    points: list[Points] = []
    index: list[tuple[str, str, str, str, float, int, int]] = []
    for face in faces:
        for char, glyph in face.glyphs.items():
            for part in glyph.parts:
                index.append((face.name, face.group, face.split, char, glyph.advance, int(glyph.filled), len(part)))
                points.append(part)
    target.parent.mkdir(parents=True, exist_ok=True)
    names, groups, splits, chars, advances, filled, lengths = (list(column) for column in zip(*index, strict=True))
    np.savez_compressed(
        target, points=np.concatenate(points).astype(np.float16), names=names, groups=groups, splits=splits,
        chars=[ord(char) for char in chars], advances=advances, filled=filled, lengths=lengths,
    )  # fmt: skip


def load(source: Path) -> tuple[Face, ...]:
    """Faces of a file that `pack` wrote."""
    data = np.load(source)
    ends = np.cumsum(data["lengths"])
    parts = np.split(data["points"].astype(np.float32), ends[:-1])
    made: dict[tuple[str, str, str], dict[str, Glyph]] = {}
    columns = (data[key] for key in ("names", "groups", "splits", "chars", "advances", "filled"))
    for name, group, split, char, advance, filled, part in zip(*columns, parts, strict=True):
        glyphs = made.setdefault((str(name), str(group), str(split)), {})
        before = glyphs.get(chr(char))
        glyphs[chr(char)] = Glyph((*(before.parts if before else ()), part), float(advance), bool(filled))
    return tuple(Face(*key, glyphs) for key, glyphs in made.items())


def _all_faces() -> Iterator[Face]:
    table = tomllib.loads(TABLE.read_text(encoding="utf-8"))
    for entry in table["hershey"]:
        for name in entry["names"]:
            yield Face(f"hershey-{name}", "stroke", _split(entry, name), _hershey(name))
    for entry in table["file"]:
        for name in entry["names"]:
            found = next(DEBIAN_FOLDER.rglob(f"{name}.[ot]tf"))
            yield Face(name, entry["group"], _split(entry, name), _outlines(found.read_bytes()))
    for entry in table["fontsource"]:
        for name in entry["names"]:
            yield Face(name, entry["group"], _split(entry, name), _outlines(_fetched(name)))


def _split(entry: dict[str, Any], name: str) -> str:
    return next((split for split in ("calibrate", "test") if name in entry.get(split, [])), "train")


def _fetched(face: str) -> bytes:
    name, _, style = face.partition(":")
    with tempfile.TemporaryDirectory() as folder:
        packed = subprocess.run(
            ["npm", "pack", "--silent", f"@fontsource/{name}"], cwd=folder, check=True, capture_output=True, text=True
        )
        with tarfile.open(Path(folder) / packed.stdout.split()[-1]) as archive:
            weight, slant = ("700", "normal") if style == BOLD else ("400", style or "normal")
            member = archive.extractfile(f"package/files/{name}-latin-{weight}-{slant}.woff2")
            assert member is not None
            return member.read()


def _hershey(name: str) -> dict[str, Glyph]:
    from HersheyFonts import HersheyFonts

    font = HersheyFonts()
    font.load_default_font(name)
    shapes = {
        char: [np.array(s, np.float32) for s in font.strokes_for_text(char)]
        for char in UPPER_ALPHABET
        if char in font.all_glyphs
    }
    one = np.concatenate(shapes["1"])
    foot, top = float(one[:, 1].min()), float(one[:, 1].max())
    flipped = not _upright(shapes)
    height = top - foot
    made = {}
    for char, strokes in shapes.items():
        glyph = font.all_glyphs[char]
        placed = [_based(s, foot, top, flipped) / height for s in strokes if len(s) > 1]
        if placed:
            made[char] = Glyph(tuple(placed), glyph.char_width / height, False)
    return made


def _upright(shapes: dict[str, list[Points]]) -> bool:
    """Whether y grows upwards: the bar of L lies at its foot."""
    corner = np.concatenate(shapes["L"])
    return bool(corner[np.argmax(corner[:, 0]), 1] < corner[:, 1].mean())


def _based(stroke: Points, foot: float, top: float, flipped: bool) -> Points:
    placed = stroke.copy()
    placed[:, 1] = top - placed[:, 1] if flipped else placed[:, 1] - foot
    return placed


def _outlines(data: bytes) -> dict[str, Glyph]:
    from fontTools.ttLib import TTFont

    font = TTFont(io.BytesIO(data))
    glyph_set, names = font.getGlyphSet(), font.getBestCmap()
    made: dict[str, tuple[list[Points], float]] = {}
    for char in UPPER_ALPHABET:
        if ord(char) in names:
            pen = _Flattener(glyph_set)
            glyph_set[names[ord(char)]].draw(pen)
            made[char] = (pen.contours(), float(glyph_set[names[ord(char)]].width))
    tall = np.concatenate(made[TALL_FIGURE][0])
    foot, height = float(tall[:, 1].min()), float(np.ptp(tall[:, 1]))
    shift = np.array([0, foot], np.float32)
    return {
        char: Glyph(tuple((c - shift) / height for c in contours), advance / height, True)
        for char, (contours, advance) in made.items()
        if contours
    }


class _Flattener(BasePen):  # type: ignore[misc]
    """Collects outlines as polygons; the base class breaks every curve into single Bezier arcs."""

    def __init__(self, glyph_set: Any) -> None:
        super().__init__(glyph_set)
        self._lines: list[list[tuple[float, float]]] = []

    def contours(self) -> list[Points]:
        made = [np.array(line, np.float32) for line in self._lines]
        return [c for c in made if len(c) > 2 and np.ptp(c[:, 0]) > OUTLINE_MARGIN]

    def _moveTo(self, point: tuple[float, float]) -> None:  # noqa: N802
        self._lines.append([point])

    def _lineTo(self, point: tuple[float, float]) -> None:  # noqa: N802
        self._lines[-1].append(point)

    def _curveToOne(self, *control: tuple[float, float]) -> None:  # noqa: N802
        self._lines[-1] += _bezier([self._lines[-1][-1], *control])

    def _qCurveToOne(self, *control: tuple[float, float]) -> None:  # noqa: N802
        self._lines[-1] += _bezier([self._lines[-1][-1], *control])


def _bezier(control: list[tuple[float, float]]) -> list[tuple[float, float]]:
    level = np.repeat(np.array(control, float)[None], CURVE_STEPS, axis=0)
    steps = np.linspace(0, 1, CURVE_STEPS + 1)[1:, None, None]
    while level.shape[1] > 1:
        level = level[:, :-1] * (1 - steps) + level[:, 1:] * steps
    return [(float(x), float(y)) for x, y in level[:, 0]]
