"""The side view or section of a spur gear: how wide its face, hub and web are, and what of it no figure gives."""

from collections.abc import Sequence

from shapely import Polygon, box

from digitize.dimensions.table import Reconciled
from digitize.lettering.text import Unit
from digitize.redraw.solids.solid_shape import Asked, Missing, flat, unlike
from digitize.redraw.solids.spindle import Spindle, round_radii, spindle_of
from digitize.redraw.solids.view_outlines import (
    PAIR_MM,
    SAME,
    among,
    outer_ring,
    polygon_of,
    rectangular,
    ring_corners,
    settled,
)
from digitize.redraw.solving.body_sizes import LEAST_MM, Body, BodySizes, body_of
from digitize.redraw.solving.solved import Part, SolvedView
from digitize.redraw.writing.figure_words import MOST_LISTED, scaled_words

OUTSIDE = 0.02  # relative: a side view this near to the gear's outside is its side


def gear_side(part: Part, others: Sequence[SolvedView]) -> Spindle | None:
    """The side view or section that is as high as the gear's outside."""
    assert part.gear.spec is not None
    across = 2 * part.gear.spec.tip_radius_mm
    for each in others:
        spindle = spindle_of(each)
        if spindle is None:
            continue
        low, lower, high, upper = polygon_of(each, outer_ring(each)).bounds
        height = upper - lower if spindle.axis == 0 else high - low
        if abs(height - across) <= OUTSIDE * across:
            return spindle
    return None


def side_doubt(
    part: Part, side: Spindle, used: Sequence[SolvedView], reconciled: Reconciled, sizes: BodySizes
) -> Missing | None:
    """Why a gear's side view does not tell its body; None where it does."""
    spec, view = part.gear.spec, side.view
    assert spec is not None
    if (other := _not_as_given(side, spec.root_radius_mm, sizes)) is not None:
        return other
    if not rectangular(view):
        if not view.profile.area_std_mm2:
            return Missing(f"it is open whether the hub or web in view {view.view.name} is the gear's")
        asked = untold(side, sizes)
        if not settled(view) and set(asked) - {Asked.RIM, Asked.HUB_DIAMETER}:
            lengths = ", ".join(scaled_words(each, Unit.MM) for each in view.profile.scaled[:MOST_LISTED])
            told = f": {lengths}" if lengths else ""
            why = f"the hub or web in view {view.view.name} has a thickness that no agreed figure gives{told}"
            return Missing(why, asked)
        known = [spec.tip_radius_mm, *round_radii(side, used, reconciled)]
        known += [] if sizes.rim is None else [spec.root_radius_mm - sizes.rim]
        known += [] if sizes.hub_diameter is None else [sizes.hub_diameter / 2]
        slack = 0.0 if settled(view) else PAIR_MM * view.view.frame.paper_mm
        unproven = [r for r in side.radii() if not among(r, known) and all(abs(r - each) > slack for each in known)]
        if unproven:
            step = f"the step {2 * unproven[0]:.3f} mm across in view {view.view.name}"
            return Missing(f"nothing says that {step} is round")
    if _full_section(side):
        return None
    return Missing(f"the section in view {view.view.name} shows a web or recesses; these are not made")


def untold(side: Spindle, sizes: BodySizes) -> tuple[Asked, ...]:
    """The sizes of a body that its side view shows and neither figures nor a person give."""
    body = _body(side)
    if settled(side.view) or body is None:
        return ()
    web = body.web
    shown = [(Asked.THICKNESS, sizes.thickness, _given_along(side, body.face.start, body.face.end))]
    if body.hub != body.face:
        shown.append((Asked.HUB, sizes.hub, _given_along(side, body.hub.start, body.hub.end)))
        shown.append((Asked.HUB_DIAMETER, sizes.hub_diameter, _given_across(side, body.hub.high)))
    if web is not None:
        shown.append((Asked.WEB, sizes.web, _given_along(side, web.start, web.end)))
        shown.append((Asked.RIM, sizes.rim, _given_across(side, web.high)))
    return tuple(asked for asked, measured, given in shown if measured is None and not given)


def _body(side: Spindle) -> Body | None:
    shape = Polygon(flat(side.laid(ring_corners(side.view.profile, outer_ring(side.view)))))
    return body_of(shape, LEAST_MM * side.view.view.frame.paper_mm)


def _given_along(side: Spindle, start: float, end: float) -> bool:
    """Whether figures lead from one place along the axis to another, in one step or over others."""
    ends = side.view.profile.ends.values()
    pairs = [tuple(z for z, _, _ in side.laid([(*point, 0.0) for point in (each.first, each.second)])) for each in ends]
    reached, left = [start], pairs
    while near := [pair for pair in left if any(_one(z, each) for z in pair for each in reached)]:
        reached += [z for pair in near for z in pair]
        left = [pair for pair in left if pair not in near]
    return any(_one(end, each) for each in reached)


def _given_across(side: Spindle, radius: float) -> bool:
    """Whether a figure across the axis gives a radius."""
    ends = side.view.profile.ends.values()
    heights = [[r for _, r, _ in side.laid([(*point, 0.0) for point in (each.first, each.second)])] for each in ends]
    return any(_one(abs(low), radius) and _one(abs(high), radius) and low * high < 0 for low, high in heights)


def _one(a: float, b: float) -> bool:
    return abs(a - b) <= SAME * max(abs(a), abs(b), 1.0)


def _not_as_given(side: Spindle, root_mm: float, sizes: BodySizes) -> Missing | None:
    """What of the sizes that a person gave the print's figures contradict."""
    body = _body(side)
    if body is None:
        return None
    web = body.web
    shown: list[tuple[str, float | None, float | None]] = [
        ("thickness", sizes.thickness, body.face.width),
        ("length of the hub", sizes.hub, body.hub.width),
        ("diameter of the hub", sizes.hub_diameter, 2 * body.hub.high),
        ("thickness of the web", sizes.web, None if web is None else web.width),
        ("thickness of the rim", sizes.rim, None if web is None else root_mm - web.high),
    ]
    for what, given, drawn in shown:
        if given is not None and drawn is None:
            return Missing(f"the {what} is given, and view {side.view.view.name} shows no web")
        if given is not None and drawn is not None and not _one(given, drawn):
            return unlike(what, given, drawn)
    return None


def _full_section(side: Spindle) -> bool:
    """Whether the faces that a section cuts leave nothing out between bore and root; true where none is cut.

    The teeth are never hatched, so the cut faces end at the root; a keyseat leaves one half smaller.
    """
    shape = side.view.profile
    body = Polygon(flat(side.laid(ring_corners(shape, outer_ring(side.view)))))
    faces = [Polygon(flat(side.laid(ring_corners(shape, ring)))) for ring in shape.cuts]
    for sign in (1, -1):
        mine = [each for each in faces if sign * each.centroid.y > 0]
        if not mine:
            continue
        heights = [y for each in mine for y in (each.bounds[1], each.bounds[3])]
        left, _, right, _ = body.bounds
        band = body.intersection(box(left, min(heights), right, max(heights)))
        if abs(band.area - sum(each.area for each in mine)) <= SAME * band.area:
            return True
    return not faces


def face_width(side: Spindle | None) -> float | None:
    """How wide a plain side is where figures, or a person, settle it."""
    if side is None or not settled(side.view):
        return None
    bounds = polygon_of(side.view, outer_ring(side.view)).bounds
    return float(bounds[2 + side.axis] - bounds[side.axis])
