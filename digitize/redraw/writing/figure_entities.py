"""The figures of the print as DIMENSION entities of `part.dxf`, and the list of those that must not be missed."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from textwrap import wrap

from ezdxf.document import Drawing
from shapely.affinity import scale
from shapely.geometry.base import BaseGeometry

from digitize.dimensions.table import Dimension, Measured, Reconciled, State
from digitize.lettering.text import Kind, Unit
from digitize.redraw import dxf
from digitize.redraw.planes.pieces import piece_line
from digitize.redraw.planes.plane_strokes import Axis
from digitize.redraw.solving.figures import LENGTHS, Ends, length_mm, strays
from digitize.redraw.solving.marks import MARK_MM
from digitize.redraw.solving.profile import Profile
from digitize.redraw.solving.solved import Part, SolvedView
from digitize.redraw.writing import layers
from digitize.redraw.writing.dimensioned import TEXT_MM, add_dimension
from digitize.redraw.writing.figure_room import clear_places
from digitize.redraw.writing.figure_words import MOST_LISTED, NOT_HOLDING, carriers, layer_of, scaled_words, words_of
from digitize.redraw.writing.placed_figure import Placed, room_of
from digitize.report.frame import Frame
from digitize.strokes.primitives import Point

_LINE_PITCH = 1.6  # of listed text, in text heights
_BESIDE = 8.0  # in text heights, across and up: where a figure stands off that nothing leads from
_LINE_LETTERS = 80  # of a listed note: as long as the longest line listed otherwise
_LEVEL_SHARE = math.sin(math.radians(2.0))  # of a length: it rises by no more where it runs along an axis


def add_figures(drawing: Drawing, solved: Sequence[SolvedView], reconciled: Reconciled, unit: Unit) -> None:
    """Add each callout once, at its place on the print or as near as it runs into no other."""
    factor = dxf.per_mm(unit)
    figures = list(_drawable(solved, reconciled))
    shown = list(carriers([(each.dimension, each.layer) for each in figures], reconciled.dimensions))
    chosen = [figures[number] for number, _ in shown]
    words = [
        words_of(each.dimension, each.layer, each.size, unit, reconciled.unit, doubts)
        for each, (_, doubts) in zip(chosen, shown, strict=True)
    ]
    placed = [each.scaled(factor) for each in chosen]
    rooms = [room_of(each, mine) for each, mine in zip(placed, words, strict=True)]
    places = clear_places(rooms, [scale(each, factor, factor, origin=(0, 0)) for each in _edges(solved)])
    for each, mine, room, at in zip(placed, words, rooms, places, strict=True):
        add_dimension(drawing, each, mine, replace(room, at=at))


def _drawable(solved: Sequence[SolvedView], reconciled: Reconciled) -> Iterator[Placed]:
    """Figures that can stand as DIMENSION entities, in part mm."""
    by_view = {each.view.name: each for each in solved}
    for dimension in reconciled.dimensions:
        mine = by_view.get(dimension.view)
        if mine is None or dimension.kind is Kind.GEAR_DATA:
            continue
        if dimension.geometry is None:
            if (held := mine.profile.ends.get(dimension.id)) is not None:
                yield _unled(dimension, held, TEXT_MM * mine.view.frame.paper_mm)
            continue
        layer = layer_of(dimension, dimension.id in mine.profile.ends)
        frame, geometry = mine.view.frame, dimension.geometry
        drawn = frame.point(geometry.first), frame.point(geometry.second)
        if layer == layers.NOT_APPLIED and (mine.profile.partial or not mine.profile.rings):
            continue  # the part does not close, so it shapes nothing: a list is clearer than lines over the picture
        if layer is None or not _believed(dimension, layer, drawn, reconciled, mine):
            continue
        ends = mine.profile.ends.get(dimension.id) or Ends(*drawn, *drawn)
        if ends.first != ends.second:
            yield Placed(dimension, layer, ends, frame.point(geometry.text_at), TEXT_MM * frame.paper_mm)


def _unled(dimension: Dimension, ends: Ends, text_mm: float) -> Placed:
    """A length that holds though nothing on the print leads from its figure to it: the figure stands off beside it."""
    (x, y), off = ends.second, _BESIDE * text_mm
    at, size = (x + off, y + off), math.dist(ends.first, ends.second)
    measured = Measured(Kind.LINEAR, ends.first, ends.second, size, 0.0, at)
    return Placed(replace(dimension, geometry=measured), layers.APPLIED, ends, at, text_mm)


def _believed(
    dimension: Dimension, layer: str, drawn: tuple[Point, Point], reconciled: Reconciled, solved: SolvedView
) -> bool:
    """Whether a figure speaks of what it was tied to, so that a DIMENSION there would not lie.

    A figure may be agreed by something else, or be unproven because it was tied wrongly; a length without a figure is
    one only from one mark to another.
    """
    if layer == layers.SCALED:
        return _marked(dimension, drawn, solved)
    value = length_mm(dimension, reconciled.unit)
    return layer == layers.APPLIED or value is None or not strays(math.dist(*drawn), value, solved.view.frame.paper_mm)


def _marked(dimension: Dimension, drawn: tuple[Point, Point], solved: SolvedView) -> bool:
    """Whether both ends of a level or upright length lie at a corner, a centre line, a circle's centre or its rim."""
    geometry, (first, second) = dimension.geometry, drawn
    axis = next(
        (
            each
            for each in Axis
            if abs(second[1 - each.value] - first[1 - each.value]) < _LEVEL_SHARE * math.dist(*drawn)
        ),
        None,
    )
    if axis is None or geometry is None or geometry.arcs or geometry.kind is Kind.ANGLE:
        return True
    places, slack = list(_marks(solved.profile, axis)), MARK_MM * solved.view.frame.paper_mm
    return all(any(abs(end[axis.value] - each) <= slack for each in places) for end in drawn)


def _marks(shape: Profile, axis: Axis) -> Iterator[float]:
    yield from (node.at[axis.value] for node in shape.plane.nodes)
    yield from (end[axis.value] for line in shape.centre_lines for end in line)
    for circle in shape.circles.values():
        yield from (circle.centre[axis.value] + part * circle.radius for part in (-1.0, 0.0, 1.0))


def _edges(solved: Sequence[SolvedView]) -> Iterator[BaseGeometry]:
    for each in solved:
        yield from (piece_line(each.profile.plane, piece) for piece in each.profile.plane.pieces)


def _unshown(part: Part, reconciled: Reconciled) -> Iterator[tuple[str, str]]:
    """Layer and words of each size of the views drawn that was read and stands in no DIMENSION."""
    shown = {(each.dimension.text, each.dimension.quad_px) for each in _drawable(part.views, reconciled)}
    standing = {State.UNPROVEN: layers.UNPROVEN, State.AGREED: layers.NOT_APPLIED}
    for each in reconciled.dimensions if part.views else ():
        is_size = each.kind in (*LENGTHS, Kind.ANGLE) and each.value is not None
        if is_size and each.state in standing and (each.text, each.quad_px) not in shown:
            layer = standing[each.state]
            yield layer, f"{_named(each)} {NOT_HOLDING[layer]}"


def list_below(
    drawing: Drawing,
    part: Part,
    reconciled: Reconciled,
    frame: Frame,
    unit: Unit,
    open_places: int = 0,
    notes: Sequence[str] = (),
) -> None:
    """List under the sheet what must not be missed: how many gaps its outlines have, disputed figures and others that
    get no DIMENSION, lengths that no figure gives, views whose scale is not proven, and further notes."""
    height = TEXT_MM * frame.paper_mm * dxf.per_mm(unit)
    disputed = (each for each in reconciled.dimensions if each.state is State.DISPUTED)
    places = "PLACE" if open_places == 1 else "PLACES"
    listed = [(layers.OPEN_END, f"OUTLINES OPEN AT {open_places} {places}, RINGED")] if open_places else []
    listed += [(layers.DISPUTED, f"{_named(each)} DISPUTED") for each in disputed]
    listed += _unshown(part, reconciled)
    unproven = (each.view.name for each in part.views if not each.view.proven)
    listed += [line for each in part.views if each.view.proven for line in _scaled(each, unit)]
    listed += [(layers.SCALE_UNPROVEN, f"VIEW {name}: SCALE NOT PROVEN") for name in unproven]
    listed += [(layers.REMARK, line) for note in notes for line in wrap(note, _LINE_LETTERS)]
    for number, (layer, text) in enumerate(listed, start=1):
        attributes = layers.on_layer(drawing, layer) | {"insert": (0.0, -number * _LINE_PITCH * height)}
        drawing.modelspace().add_text(text, height=height, dxfattribs=attributes)


def _scaled(solved: SolvedView, unit: Unit) -> Iterator[tuple[str, str]]:
    """Layer and words of each length of a view that no figure gives."""
    lengths, name = solved.profile.scaled, solved.view.name
    yield from ((layers.SCALED, f"VIEW {name} SCALED: {scaled_words(each, unit)}") for each in lengths[:MOST_LISTED])
    if (left := len(lengths) - MOST_LISTED) > 0:
        yield layers.SCALED, f"VIEW {name} SCALED: {left} MORE"


def _named(dimension: Dimension) -> str:
    return f"{dimension.id}: {dimension.text.replace(chr(10), ' / ')}"
