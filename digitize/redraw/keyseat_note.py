"""A keyseat drawn as deep as its figure says on the middle line, where the key tables mean that figure otherwise.

ANSI B17.1 and BS 46 give a hub's depth at the side of the keyseat, DIN 6885-1 on its middle line. A print seldom says
which it means, and its drawing is what the outline follows; between the two lies the height of the bore's arc.
"""

import math
from collections.abc import Iterator

from digitize.dimensions.table import Reconciled
from digitize.gears.bore import SAME_KEY_MM, Keyseat, keyseat_of_standard, over_keyseat_mm
from digitize.gears.identifying.sheet_body import agreed_size_mm
from digitize.lettering.text import Unit
from digitize.redraw.dxf import per_mm
from digitize.redraw.solids.view_outlines import polygon_of
from digitize.redraw.solving.solved import Part, SolvedView
from digitize.strokes.primitives import Point

PLACES = {Unit.INCH: 4, Unit.MM: 2}
"""Decimals that a maker reads off a micrometer."""


def keyseat_notes(part: Part, reconciled: Reconciled, unit: Unit) -> Iterator[str]:
    """A sentence where the keyseat of a gear's face lies elsewhere than the tables have one of its written sizes."""
    bore, width, depth = (agreed_size_mm(reconciled, name) for name in ("bore", "key_width", "key_depth"))
    if bore is None or width is None or depth is None:
        return
    seat = keyseat_of_standard(bore, width, depth)
    face = next((each for each in part.views if each.view.name == part.gear.view), None)
    if seat is None or face is None or not part.curves:
        return
    drawn, tabled = _over_drawn_mm(face, part.curves[0].middle, bore, seat), over_keyseat_mm(bore, seat)
    if drawn is not None and abs(drawn - tabled) > SAME_KEY_MM:
        here, there = (f"{size * per_mm(unit):.{PLACES[unit]}f}" for size in (drawn, tabled))
        across, deep = (f"{size * per_mm(unit):.{PLACES[unit]}f}".rstrip("0").rstrip(".") for size in (width, depth))
        yield (
            f"view {face.view.name}: the keyseat is {here} {unit.value} from the bore's other side to its floor, as "
            f"drawn; of a keyseat {across} × {deep} in this bore the key tables have {there} {unit.value}: "
            "measure the key"
        )


def _over_drawn_mm(view: SolvedView, centre: Point, bore_mm: float, seat: Keyseat) -> float | None:
    """From the bore's other side to the floor of the keyseat that is outlined about a centre; None without one."""
    for ring in view.profile.rings:
        if ring.circle or ring.within is None:
            continue
        reaches = [math.dist(centre, point) for point in polygon_of(view, ring).exterior.coords]
        of_bore = abs(min(reaches) - bore_mm / 2) <= SAME_KEY_MM  # a hub that a line meets is no circle either
        floor = math.sqrt(max(max(reaches) ** 2 - (seat.width_mm / 2) ** 2, 0.0))
        if of_bore and bore_mm / 2 < floor < bore_mm:
            return bore_mm / 2 + floor
    return None
