"""Where the fingers stand: behind the die as the order says, and along the bed two of them as far apart as can be."""

from flangewise.findings import Finding, caution
from flangewise.setup.hit import PlannedHit
from flangewise.setup.step import Stops
from flangewise.setup.work import Work
from flangewise.shop import Machine

# A finger keeps this much of the edge beyond its own side (common practice).
EDGE_LEFT_MM = 5.0


def fingers(hit: PlannedHit, work: Work, *, part_from_mm: float) -> tuple[Stops, tuple[Finding, ...]]:
    """Stops for a part that lies from `part_from_mm` along the bed, and what is wrong with them.

    Two fingers near the ends of the edge, within their travel: the further apart, the less the bend runs out of
    square. A part too short for two gets one in its middle, with a caution.
    """
    machine, gauged = work.machine, hit.step.gauged
    z_mm = finger_places_mm(machine, part_from_mm=part_from_mm, length_mm=work.piece.length_mm)
    if gauged is None:
        return Stops(None, None, z_mm, 0.0), ()
    stops = Stops(gauged.x_mm, gauged.r_mm, z_mm, gauged.retract_mm)
    if len(z_mm) > 1:
        return stops, ()
    values = {"length_mm": work.piece.length_mm, "spacing_mm": machine.least_finger_spacing_mm}
    return stops, (caution("one-finger", hit.place, **values),)


def finger_places_mm(machine: Machine, *, part_from_mm: float, length_mm: float) -> tuple[float, ...]:
    """Middles of the fingers along the bed: two, or one where two do not find room on the edge.

    On a short edge the fingers move outward until only half of each still touches.
    """
    half_mm = machine.finger_width_mm / 2
    least_mm, most_mm = machine.stop_z_mm
    for inset_mm in (half_mm + EDGE_LEFT_MM, half_mm, 0.0):
        left_mm = max(part_from_mm + inset_mm, least_mm)
        right_mm = min(part_from_mm + length_mm - inset_mm, most_mm)
        if machine.fingers > 1 and right_mm - left_mm >= machine.least_finger_spacing_mm:
            return left_mm, right_mm
    return (min(max(part_from_mm + length_mm / 2, least_mm), most_mm),)
