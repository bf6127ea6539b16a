"""What a bend leaves unsure of strokes; the pictures they were traced on show the sheet as it would lie flat."""

import math
from dataclasses import replace

from calibrate.straightening.bend import Bend
from digitize.strokes.primitives import Arc, Line, Strokes


def unsure_by_bend(strokes: Strokes, bend: Bend | None) -> Strokes:
    """Say how much less sure places and lengths are for the bend.

    Parameters
    ----------
    strokes : Strokes
    bend : Bend or None
        Corrected or not.

    Returns
    -------
    Strokes
        The same ones where there is no bend.
    """
    if bend is None:
        return strokes
    strain = bend.strain_std()
    return replace(
        strokes,
        lines=tuple(_line(line, bend) for line in strokes.lines),
        arcs=tuple(_arc(arc, bend, strain) for arc in strokes.arcs),
        laid_on=tuple(_line(line, bend) for line in strokes.laid_on),
        squeeze_std=math.hypot(strokes.squeeze_std, strain),
        strain_std=strain,
    )


def _line(line: Line, bend: Bend) -> Line:
    return replace(line, std_px=math.hypot(line.std_px, bend.left_px))


def _arc(arc: Arc, bend: Bend, strain_std: float) -> Arc:
    return replace(
        arc,
        centre_std_px=math.hypot(arc.centre_std_px, bend.left_px),
        radius_std_px=math.hypot(arc.radius_std_px, bend.left_px, strain_std * arc.radius_px),
    )
