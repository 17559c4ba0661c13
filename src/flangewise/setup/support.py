"""Whether what hangs out in front of the tools wants holding while it swings up and lies there.

Told where its weight turns with more than 5 N m about the bend line, or where it reaches more than 500 mm out in sheet
of 2 mm or less. Common practice.
"""

import math

from flangewise.clearance import Outline
from flangewise.findings import Finding, caution
from flangewise.setup.hit import PlannedHit
from flangewise.setup.work import Work
from flangewise.units import GRAVITY_M_PER_S2
from flangewise.words import Value

MOST_MOMENT_NM = 5.0
LONG_MM, THIN_MM = 500.0, 2.0


def support_findings(hit: PlannedHit, work: Work) -> tuple[Finding, ...]:
    """The caution for a part that wants holding in front, told once for the two hits of a hem."""
    before_mm = hit.step.before.outline_mm
    reach_mm = max(across for across, _ in before_mm)
    moment_nm = front_moment_nm(before_mm, work.piece.mass_kg)
    is_long = reach_mm > LONG_MM and work.piece.thickness_mm <= THIN_MM
    if hit.is_second or (moment_nm <= MOST_MOMENT_NM and not is_long):
        return ()
    values: dict[str, Value] = {"reach_mm": reach_mm, "moment": f"{moment_nm:.1f}"}
    return (caution("support-in-front", hit.place, **values),)


def stands_behind(outline_mm: Outline, thickness_mm: float) -> bool:
    """Whether a formed flange stands between the ram or the stops and the bend: more than two thicknesses high."""
    return max((up for across, up in outline_mm if across < 0), default=0.0) > 2 * thickness_mm


def hold_findings(hit: PlannedHit) -> tuple[Finding, ...]:
    """The caution where no order lies so that it can be held: how it lies, and what holds it instead.

    Told once for the two hits of a hem.
    """
    hold = hit.step.hold
    if hold is None or not hold.breach or hit.is_second:
        return ()
    # Rounded down: what is told to lie in front lies there.
    front_mm = float(math.floor(hold.front_mm))
    values: dict[str, Value] = {"front_mm": front_mm, "behind_kg": hold.behind_kg, "moment_nm": hold.moment_nm}
    code = "hold-behind" if hold.tips == "behind" and not hold.little_in_front else "hold-little-in-front"
    if hold.tips == "behind" and hold.little_in_front:
        code = "hold-little-and-behind"
    return (caution(code, hit.place, **values),)


def front_moment_nm(outline_mm: Outline, mass_kg: float) -> float:
    """Moment about the bend line of the part's weight in front of it, N m; 0 where nothing lies in front.

    The mass is spread evenly over the section: share in front times the distance of its centroid.
    """
    whole, front = _area_mm2(outline_mm), _front(outline_mm)
    if len(front) < 3 or whole == 0:
        return 0.0
    return mass_kg * GRAVITY_M_PER_S2 * _first_moment_mm3(front) / whole / 1000


def _front(outline_mm: Outline) -> Outline:
    """The piece of an outline in front of the centre plane."""
    kept: list[tuple[float, float]] = []
    for (across, up), (next_across, next_up) in zip(outline_mm, (*outline_mm[1:], outline_mm[0]), strict=True):
        if across >= 0:
            kept.append((across, up))
        if (across < 0) != (next_across < 0):
            share = across / (across - next_across)
            kept.append((0.0, up + share * (next_up - up)))
    return tuple(kept)


def _area_mm2(outline_mm: Outline) -> float:
    return sum(_crosses(outline_mm)) / 2


def _first_moment_mm3(outline_mm: Outline) -> float:
    """Integral of across over the area."""
    acrosses = [across for across, _ in outline_mm]
    pairs = zip(acrosses, (*acrosses[1:], acrosses[0]), _crosses(outline_mm), strict=True)
    return sum((one + other) * cross for one, other, cross in pairs) / 6


def _crosses(outline_mm: Outline) -> list[float]:
    pairs = zip(outline_mm, (*outline_mm[1:], outline_mm[0]), strict=True)
    return [one[0] * other[1] - other[0] * one[1] for one, other in pairs]
