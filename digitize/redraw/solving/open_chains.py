"""Outlines that do not close: chains of edges outside every closed outline, and where they end."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calibrate.sheet import FloatArray, apply_homography
from digitize.lettering.text import Unit
from digitize.redraw.dxf import place_words
from digitize.redraw.planes import outline
from digitize.redraw.planes.pieces import piece_line
from digitize.redraw.planes.plane import LOOSE, Piece
from digitize.redraw.planes.plane_strokes import GAP_MM
from digitize.redraw.report import OpenEnd
from digitize.redraw.solving.profile import DrawnView, Profile
from digitize.strokes.primitives import Point

LEAST_MM = 5.0  # of paper: a shorter chain is a crumb of lettering or of an arrowhead
MOST_NAMED = 4  # ends in one sentence; all of them have a ring in the file and a diamond on the check print
FEWEST_STROKES = 2  # one stroke by itself may be an extension line or a stray; strokes that meet are an outline begun


@dataclass(frozen=True)
class OpenChain:
    """Pieces that hang together, and their free ends in part mm."""

    pieces: tuple[Piece, ...]
    ends: tuple[Point, ...]


def open_chains(shape: Profile, paper_mm: float) -> list[OpenChain]:
    """The open chains of a view, the longest first.

    Parameters
    ----------
    shape : Profile
    paper_mm : float
        Part mm in one mm of paper.
    """
    outers = [outline.ring_polygon(shape.plane, ring).buffer(GAP_MM * paper_mm) for ring in shape.rings]
    lines = {piece: piece_line(shape.plane, piece) for piece in shape.plane.pieces if piece.first != LOOSE}
    outside = [piece for piece, line in lines.items() if not any(each.covers(line) for each in outers)]
    on_rings = {node for ring in shape.rings for node in ring.nodes()}
    found = []
    for chain in hanging_together(outside):
        length = sum(lines[piece].length for piece in chain)
        if len({piece.stroke for piece in chain}) >= FEWEST_STROKES and length >= LEAST_MM * paper_mm:
            degree = Counter(node for piece in chain for node in (piece.first, piece.last))
            free = sorted(node for node, count in degree.items() if count == 1 and node not in on_rings)
            ends = tuple(shape.plane.nodes[node].at for node in free)
            found.append((length, OpenChain(tuple(chain), ends)))
    return [chain for _, chain in sorted(found, key=lambda each: (-each[0], each[1].ends))]


def hanging_together(pieces: list[Piece]) -> list[list[Piece]]:
    """Pieces in groups of those that meet."""
    chains: list[list[Piece]] = []
    for piece in pieces:
        mine = {piece.first, piece.last}
        touching = [each for each in chains if any(mine & {other.first, other.last} for other in each)]
        chains = [each for each in chains if each not in touching]
        chains.append([piece, *(other for each in touching for other in each)])
    return chains


def where(view: DrawnView, chains: Sequence[OpenChain], unit: Unit) -> str:
    """A sentence: where the longest of a view's open chains ends, as `part.dxf` has it and in pixels of the file."""
    (longest, *others) = chains
    named = longest.ends[:MOST_NAMED]
    places = [f"{place_words(at, unit)} {unit.value} (pixel {_pixel(view, at)})" for at in named]
    more = [f"{len(longest.ends) - len(named)} places more"] if len(longest.ends) > len(named) else []
    ends = ", ".join([*places, *more]) or "another outline"
    if not others:
        return f"an outline of view {view.name} does not close; it ends at {ends}"
    return (
        f"{len(chains)} outlines of view {view.name} do not close; the longest ends at {ends}; all ends are on OPEN_END"
    )


def ends_of(view: DrawnView, chain: OpenChain) -> list[OpenEnd]:
    """The free ends of a chain, for the check print."""
    return [OpenEnd(view.name, at, _back(view.frame.mm_from_level, at)) for at in chain.ends]


def _pixel(view: DrawnView, at: Point) -> str:
    x, y = _back(view.frame.pixel_to_mm, at)
    return f"{x:.0f},{y:.0f}"


def _back(homography: FloatArray, at: Point) -> Point:
    x, y = apply_homography(np.asarray(np.linalg.inv(homography), dtype=np.float64), np.array([at]))[0]
    return float(x), float(y)
