"""What a user must know about a blank: allowances beyond their rule, radii not as asked, holes near a bend."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from flangewise.findings import Finding, caution, note, place
from flangewise.part import Part
from flangewise.pattern.allow import Taken
from flangewise.pattern.flat_pattern import BendZone, FlatHole, FlatPattern

# Clear of the bend zone: a hole nearer is drawn out of shape. Common practice; design guides say 2 t for round holes
# from the start of the radius, which is 2 t + r from the inside of the leg that is bent up; slots want more.
ROUND_HOLE_THICKNESSES = 2.0
SLOT_THICKNESSES = 2.5
# Less than this between hole and bend is told as what it is, reaching in, not as a distance.
TOUCHING_MM = 1e-6


def allowance_findings(part: Part, taken: Sequence[Taken]) -> tuple[Finding, ...]:
    """Where the allowance rule was used outside its table, in the order of the bends."""
    found: list[Finding] = []
    for each in taken:
        where = place("bend", each.bend.number)
        if each.allowance.k_held:
            ratio = each.radius_mm / part.thickness_mm
            found.append(caution("din-k-held", where, ratio=ratio))
        if each.allowance.beyond_din:
            included_deg = 180.0 - each.bend.turn_deg
            deduction_mm = each.allowance.deduction_mm
            found.append(note("din-continuous", where, included_deg=included_deg, deduction_mm=deduction_mm))
    return tuple(found)


def hole_findings(pattern: FlatPattern) -> tuple[Finding, ...]:
    """Holes that reach into a bend zone, and holes so near one that they are drawn out of shape."""
    return tuple(
        finding
        for hole in pattern.holes
        for zone in pattern.zones
        for finding in _near(hole, zone, pattern.thickness_mm)
    )


def _near(hole: FlatHole, zone: BendZone, thickness_mm: float) -> Iterator[Finding]:
    is_round = hole.diameter_mm is not None
    least_mm = (ROUND_HOLE_THICKNESSES if is_round else SLOT_THICKNESSES) * thickness_mm
    apart_mm = abs(hole.centre_mm[1] - zone.line_mm[0][1]) - zone.allowance.allowance_mm / 2 - hole.half_size_mm[1]
    where = place("hole", hole.number)
    if apart_mm <= TOUCHING_MM:
        yield caution("hole-in-bend", where, bend=zone.label, reach_mm=-apart_mm)
    elif apart_mm < least_mm - TOUCHING_MM:
        yield caution("hole-near-bend", where, bend=zone.label, distance_mm=apart_mm, least_mm=least_mm)
