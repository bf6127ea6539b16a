"""What solid the redrawn views tell: a plate, a turned part or a spur gear; or which size is missing.

Nothing is made up: a thickness that no view settles is asked for, a step is turned only where a diameter or a circle
says that it is round, and rings within rings, which may be bosses or counterbores, are refused.
"""

from digitize.dimensions.table import Reconciled
from digitize.redraw.solids.gear_body import gear_body
from digitize.redraw.solids.plate import plate
from digitize.redraw.solids.solid_shape import Missing, SolidPlan, blank_mm3
from digitize.redraw.solids.turned_part import turned_part
from digitize.redraw.solving.body_sizes import BodySizes
from digitize.redraw.solving.solved import Part

ASKED_SHARE = 5e-4  # of its volume: what may be off by more for sizes that a person can measure is asked for
LOOSE_SHARE = 5e-3  # of its volume: what may be off by more, at most, for what is scaled is asked for (no source)


def plan_solid(part: Part, reconciled: Reconciled, sizes: BodySizes) -> SolidPlan | Missing:
    """Decide what solid the views tell.

    Parameters
    ----------
    part : Part
    reconciled : Reconciled
    sizes : BodySizes
        As a person measured them, the same that the part was solved with.
    """
    plan = _plan(part, reconciled, sizes)
    if isinstance(plan, Missing):
        return plan
    most = ASKED_SHARE if plan.asked else LOOSE_SHARE
    if plan.off_mm3 <= most * blank_mm3(plan):
        return plan
    said = "; ".join(each for each in plan.notes if "scaled" in each)
    off = f"{100 * plan.off_mm3 / blank_mm3(plan):.2g} %"
    return Missing(f"its volume may be off by {off} for what is scaled: {said}", plan.asked)


def _plan(part: Part, reconciled: Reconciled, sizes: BodySizes) -> SolidPlan | Missing:
    views = [each for each in part.views if each.profile.rings]
    unproven = [each for each in views if not each.view.proven]
    if unproven:
        return Missing(f"the scale of view {unproven[0].view.name} is not proven")
    if part.gear.spec is not None and part.curves:
        return gear_body(part, views, reconciled, sizes)
    if part.gear.spec is not None or part.gear.notes:
        # Turned or carried as a plate, its body would be as large as its teeth are high, or lack them.
        return Missing(f"the print tells of a gear, and {'; '.join(part.gear.notes) or 'its teeth are not placed'}")
    if not views:
        return Missing("no view has a closed outline")
    crowded = [each for each in views if sum(ring.within is None for ring in each.profile.rings) > 1]
    if crowded:
        return Missing(f"view {crowded[0].view.name} has more than one outer outline")
    partial = [each for each in views if each.profile.partial]
    if partial:
        return Missing(f"the outer outline of view {partial[0].view.name} does not close")
    doubted = [each for each in views if not each.profile.area_std_mm2]
    if doubted:
        return Missing(f"it is open whether the outlines of view {doubted[0].view.name} are the part's")
    turned = turned_part(views, reconciled)
    return turned if turned is not None else plate(views, sizes.thickness)
