"""Where the part is held: on the fingers behind the die, and whether what hangs out in front wants holding.

The fingers stand as the order says, and along the bed two of them as far apart as can be. A support is told where the
part's weight turns with more than 5 N m about the bend line, or where it reaches more than 500 mm out in sheet
of 2 mm or less. Common practice.
"""

import math

from flangewise.clearance import Outline
from flangewise.findings import Finding, caution, note
from flangewise.setup.step import Stops
from flangewise.setup.work import PlannedHit, Work
from flangewise.shop import Machine
from flangewise.units import GRAVITY_M_PER_S2
from flangewise.words import Value

MOST_MOMENT_NM = 5.0
LONG_MM, THIN_MM = 500.0, 2.0
# A finger keeps this much of the edge beyond its own side (common practice).
EDGE_LEFT_MM = 5.0
# So far fingers stay behind tools that they must keep away from (judgement).
STOPS_CLEAR_MM = 5.0


def fingers(hit: PlannedHit, work: Work, *, part_from_mm: float) -> tuple[Stops, tuple[Finding, ...]]:
    """Stops for a part that lies from `part_from_mm` along the bed, and what is wrong with them.

    Two fingers near the ends of the edge, so that the bend runs square; a part too short gets one, with a caution. A
    hem goes by hand between the plates that flatten it: its edge lies over the part there, where no finger has room.
    """
    machine, gauged = work.machine, hit.step.gauged
    if hit.kind == "flatten":
        return Stops(None, None, (), 0.0), (_kept_back(hit),)
    z_mm = finger_places_mm(machine, part_from_mm=part_from_mm, length_mm=work.piece.length_mm)
    if gauged is None:
        return Stops(None, None, z_mm, 0.0), ()
    stops = Stops(gauged.x_mm, gauged.r_mm, z_mm, gauged.retract_mm)
    if len(z_mm) > 1:
        return stops, ()
    values = {"length_mm": work.piece.length_mm, "spacing_mm": machine.least_finger_spacing_mm}
    return stops, (caution("one-finger", hit.place, **values),)


def _kept_back(hit: PlannedHit) -> Finding:
    """How far the fingers stay behind tools that leave them no room."""
    die_mm = (body.points_mm for body in hit.of_section.stacks[-1].bodies if body.name == "die")
    reach_mm = max((-across for points in die_mm for across, _ in points), default=0.0)
    return note("stops-back", hit.place, x_mm=float(math.ceil(reach_mm + STOPS_CLEAR_MM)))


def finger_places_mm(machine: Machine, *, part_from_mm: float, length_mm: float) -> tuple[float, ...]:
    """Middles of the fingers along the bed: two, on a short edge half on it, or one where two find no room."""
    half_mm = machine.finger_width_mm / 2
    least_mm, most_mm = machine.stop_z_mm
    for inset_mm in (half_mm + EDGE_LEFT_MM, half_mm, 0.0):
        left_mm = max(part_from_mm + inset_mm, least_mm)
        right_mm = min(part_from_mm + length_mm - inset_mm, most_mm)
        if machine.fingers > 1 and right_mm - left_mm >= machine.least_finger_spacing_mm:
            return left_mm, right_mm
    return (min(max(part_from_mm + length_mm / 2, least_mm), most_mm),)


def support_findings(hit: PlannedHit, work: Work) -> tuple[Finding, ...]:
    """The caution for a part that wants holding in front, told once for the two hits of a hem."""
    before_mm = hit.of_section.before.outline_mm
    reach_mm = max(across for across, _ in before_mm)
    moment_nm = front_moment_nm(before_mm, work.piece.mass_kg)
    is_long = reach_mm > LONG_MM and work.piece.thickness_mm <= THIN_MM
    if hit.is_second or (moment_nm <= MOST_MOMENT_NM and not is_long):
        return ()
    values: dict[str, Value] = {"reach_mm": reach_mm, "moment_nm": moment_nm}
    return (caution("support-in-front", hit.place, **values),)


def stands_behind(outline_mm: Outline, thickness_mm: float) -> bool:
    """Whether a formed flange stands between the ram or the stops and the bend: more than two thicknesses high."""
    return max((up for across, up in outline_mm if across < 0), default=0.0) > 2 * thickness_mm


def hold_findings(hit: PlannedHit) -> tuple[Finding, ...]:
    """The caution, once a hem, where no order lies so that it can be held: how it lies, and what holds it instead."""
    hold = hit.step.hold
    if hold is None or not hold.breach or hit.is_second:
        return ()
    values: dict[str, Value] = {
        "front_mm": hold.told_front_mm,
        "behind_kg": hold.behind_kg,
        "moment_nm": hold.moment_nm,
    }
    code = "hold-little-in-front"
    if hold.tips == "behind":
        code = "hold-little-and-behind" if hold.little_in_front else "hold-behind"
    return (caution(code, hit.place, **values),)


def front_moment_nm(outline_mm: Outline, mass_kg: float) -> float:
    """Moment about the bend line of the part's weight in front of it, N m; 0 where nothing lies in front.

    The mass is spread evenly over the section. Its area is the integral of across d(up) along the outline, the first
    moment of what lies in front that of max(across, 0)^2 / 2 d(up): Green's theorem.
    """
    area_mm2, first_mm3 = 0.0, 0.0
    for (here, low), (there, high) in zip(outline_mm, (*outline_mm[1:], outline_mm[0]), strict=True):
        area_mm2 += (here + there) / 2 * (high - low)
        near, far = max(here, 0.0), max(there, 0.0)
        share = (near - far) / (here - there) if here * there < 0 else 1.0
        first_mm3 += share * (high - low) * (near**2 + near * far + far**2) / 6
    return mass_kg * GRAVITY_M_PER_S2 * first_mm3 / area_mm2 / 1000 if area_mm2 else 0.0
