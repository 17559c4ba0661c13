"""What the drawing allows of angles and legs: its own figure, else ISO 2768-1 m."""

from flangewise.bend import angle_tolerance_deg, linear_tolerance_mm
from flangewise.part import Part, WantedBend


def angle_tolerance(part: Part, bend: WantedBend) -> float | None:
    """What a bend's angle is allowed, plus and minus, in degrees; ISO 2768-1 m goes by the shorter leg."""
    if bend.kind != "bend":
        return None
    wanted = bend.tolerance_deg if bend.tolerance_deg is not None else part.tolerances.angle_deg
    legs = part.outside_legs_mm
    return wanted if wanted is not None else angle_tolerance_deg(min(legs[bend.number - 1], legs[bend.number]))


def leg_tolerances_mm(part: Part) -> tuple[float | None, ...]:
    """What each leg is allowed, plus and minus, for the size as drawn."""
    return part.tolerances.legs_mm or tuple(linear_tolerance_mm(leg) for leg in part.section.legs_mm)
