"""The gear as it is to be made or measured: the tooth that was found, with body, backlash, chamfer, shift and mate."""

from dataclasses import dataclass, replace

from calibrate.errors import InputError
from digitize.dimensions.table import State
from digitize.gears.body import GivenBody
from digitize.gears.cuts import cut_named
from digitize.gears.desk.processes import Process, process
from digitize.gears.identifying.claim import title_of
from digitize.gears.identifying.evidence import Evidence
from digitize.gears.identifying.finding import Candidate, GearFinding
from digitize.gears.identifying.report import leading_tooth
from digitize.gears.lengths import exact_number, parse_length
from digitize.gears.options import BenchInput
from digitize.gears.teeth.mesh import Mesh, mesh
from digitize.gears.teeth.tooth import GearSpec, space_side

MOST_SHIFT = 1.0
"""Profile shift beyond this, in modules, is a slip (common practice, no source)."""


@dataclass(frozen=True)
class Work:
    """A gear ready to be drawn and measured.

    Attributes
    ----------
    title : str
        Pitch and system.
    state : State
        Of the claim; the tooth of an unproven gear is its likeliest one.
    gear : GearSpec
    body : GivenBody
    process : Process
    mate : GearSpec or None
    centre_mm : float or None
    mesh : Mesh or None
        How the pair runs, where mate and centre distance are known.
    assumed : str
        What the standard does not give.
    """

    title: str
    state: State
    gear: GearSpec
    body: GivenBody
    process: Process
    mate: GearSpec | None = None
    centre_mm: float | None = None
    mesh: Mesh | None = None
    assumed: str = ""


def workpiece(finding: GearFinding, evidence: Evidence, body: GivenBody, typed: BenchInput) -> Work | None:
    """The gear of the tooth that can be stated; None where none can, or where its flank is no known curve.

    Raises
    ------
    InputError
        Where shift, backlash or chamfer can't be.
    """
    tooth = finding.candidates[0] if finding.state is State.AGREED else leading_tooth(finding)
    made_by = process(typed.process or "cut")
    cut = None if tooth is None else cut_named(tooth.system, tooth.title)
    if tooth is None or cut is None or cut.system.form == "cast":
        return None
    shift = 0.0 if typed.profile_shift is None else _shift(typed.profile_shift)
    thinning = 0.0 if typed.backlash is None else float(parse_length(typed.backlash, "backlash").value_mm) / 2
    chamfer = 0.0 if typed.tip_chamfer is None else float(parse_length(typed.tip_chamfer, "tip chamfer").value_mm)
    try:
        gear = replace(GearSpec.from_cut(cut, tooth.teeth, shift, thinning), tip_chamfer_mm=chamfer)
        space_side(gear)
    except InputError:
        if shift or thinning or chamfer:
            raise
        return None
    work = Work(title_of(finding), finding.state, gear, body, made_by, assumed=cut.assumed)
    return _with_mate(work, tooth, evidence, thinning)


def _shift(text: str) -> float:
    sign = -1 if text.strip().startswith("-") else 1
    shift = sign * float(exact_number(text.strip().lstrip("+-")))
    if abs(shift) > MOST_SHIFT:
        raise InputError(
            f'The profile shift "{text}" is in modules and stays within {MOST_SHIFT:g}; give a smaller one.'
        )
    return shift


def _with_mate(work: Work, tooth: Candidate, evidence: Evidence, thinning_mm: float) -> Work:
    """Add the mate, of the same cut and not shifted, and how the pair runs."""
    cut = cut_named(tooth.system, tooth.title)
    if cut is None or evidence.mate_teeth is None or evidence.centre_distance is None:
        return work
    centre = evidence.centre_distance.value
    mate = GearSpec.from_cut(cut, evidence.mate_teeth, 0.0, thinning_mm)
    pair = None if mate.rolling_radius else mesh(work.gear, mate, centre)
    return replace(work, mate=mate, centre_mm=centre, mesh=pair)
