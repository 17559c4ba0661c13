"""A section laid out flat: what each bend takes of it, where its zones and holes lie, and what must be known of it."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import product
from types import MappingProxyType

from flangewise.findings import Finding, caution, place, refuse
from flangewise.geometry import Point
from flangewise.part import Part, WantedHole
from flangewise.pattern.flat_pattern import BendZone, FlatFace, FlatHole, FlatPattern, NoBlank
from flangewise.pattern.taken import FormedBend, allowance_findings, taken_by
from flangewise.shop import Shop

# Clear of the bend zone: a hole nearer is drawn out of shape. Common practice; design guides say 2 t for round holes
# from the start of the radius, which is 2 t + r from the inside of the leg that is bent up; slots want more.
ROUND_HOLE_THICKNESSES = 2.0
SLOT_THICKNESSES = 2.5
# Less than this between hole and bend is told as what it is, reaching in, not as a distance.
TOUCHING_MM = 1e-6
MM3_PER_M3 = 1e9
# A flat that comes out shorter than nothing by less than this is rounding.
NOTHING_MM = 1e-9


def taken_by_bends(
    part: Part, radii_mm: Mapping[int, float], *, rule: str, deductions_mm: Mapping[int, float]
) -> tuple[FormedBend, ...]:
    """What each bend takes, in order; learned deductions are by bend, for outside sizes. KeyError as `lay_out`."""
    t, sizes = part.thickness_mm, part.section.sizes
    return tuple(
        taken_by(
            bend,
            radii_mm[bend.number],
            thickness_mm=t,
            sizes=sizes,
            rule=rule,
            learned_mm=deductions_mm.get(bend.number),
        )
        for bend in part.section.bends
    )


def hole_findings(pattern: FlatPattern) -> tuple[Finding, ...]:
    """Holes that reach into a bend zone, and holes so near one that they are drawn out of shape."""
    pairs = product(pattern.holes, pattern.zones)
    return tuple(finding for hole, zone in pairs for finding in _near(hole, zone, pattern.thickness_mm))


def _near(hole: FlatHole, zone: BendZone, thickness_mm: float) -> Iterator[Finding]:
    is_round = hole.diameter_mm is not None
    least_mm = (ROUND_HOLE_THICKNESSES if is_round else SLOT_THICKNESSES) * thickness_mm
    apart_mm = abs(hole.centre_mm[1] - zone.line_mm[0][1]) - zone.allowance.allowance_mm / 2 - hole.half_size_mm[1]
    where = place("hole", hole.number)
    if apart_mm <= TOUCHING_MM:
        yield caution("hole-in-bend", where, bend=zone.label, reach_mm=-apart_mm)
    elif apart_mm < least_mm - TOUCHING_MM:
        yield caution("hole-near-bend", where, bend=zone.label, distance_mm=apart_mm, least_mm=least_mm)


_NONE: Mapping[int, float] = MappingProxyType({})


def lay_out(
    part: Part,
    shop: Shop,
    *,
    radii_mm: Mapping[int, float],
    rule: str | None = None,
    deductions_mm: Mapping[int, float] = _NONE,
) -> FlatPattern:
    """The blank of a section with the inside radius each bend gets; density and rule are the shop's.

    Developed length = legs - what the bends take of them + allowances + webs of offsets. Legs give up the setback of
    the bends at their ends (see bend.leg_setback_mm), so with outside sizes the length is sum(legs) - sum(deductions).
    `rule` stands in for the shop's allowance rule; a bend's own k_factor goes before it, a learned deduction (by bend,
    for outside sizes) between the two.
    Raises NoBlank, with a `refuse` finding each, where a leg is shorter than its bends or an offset lower than its
    two arcs; KeyError for a bend without a radius or an unknown rule.
    """
    taken = taken_by_bends(part, radii_mm, rule=rule or shop.defaults.rule, deductions_mm=deductions_mm)
    flats_mm = _flats_mm(part, taken)
    impossible = tuple(_impossible(part, flats_mm, taken))
    if impossible:
        raise NoBlank(impossible)
    return _pattern(part, taken, flats_mm, shop.materials[part.material].density_kg_per_m3)


def _ends_mm(taken: Sequence[FormedBend], leg: int) -> tuple[float, float]:
    before = taken[leg - 2].allowance.leg_setback_mm if leg > 1 else 0.0
    after = taken[leg - 1].allowance.leg_setback_mm if leg <= len(taken) else 0.0
    return before, after


def _flats_mm(part: Part, taken: Sequence[FormedBend]) -> tuple[float, ...]:
    return tuple(leg_mm - sum(_ends_mm(taken, leg)) for leg, leg_mm in enumerate(part.section.legs_mm, start=1))


def _impossible(part: Part, flats_mm: Sequence[float], taken: Sequence[FormedBend]) -> Iterator[Finding]:
    for leg, (leg_mm, flat_mm) in enumerate(zip(part.section.legs_mm, flats_mm, strict=True), start=1):
        if flat_mm < -NOTHING_MM:
            least_mm = _rounded_up(sum(_ends_mm(taken, leg)))
            yield refuse("leg-inside-bends", place("leg", leg), leg_mm=leg_mm, least_mm=least_mm)
    for each in taken:
        if each.web_mm is not None and each.web_mm < -NOTHING_MM:
            bend, radius_mm = each.bend, each.radius_mm
            arcs_mm = (2 * radius_mm + part.thickness_mm) * (1 - math.cos(math.radians(bend.turn_deg)))
            sizes = {"offset_mm": bend.offset_mm, "least_mm": _rounded_up(arcs_mm), "radius_mm": radius_mm}
            yield refuse("offset-too-low", place("bend", bend.number), turn_deg=bend.turn_deg, **sizes)


def _rounded_up(length_mm: float) -> float:
    """To the hundredth that is shown, never below what is needed."""
    return math.ceil(length_mm * 100 - 1e-6) / 100


def _pattern(
    part: Part, taken: tuple[FormedBend, ...], flats_mm: tuple[float, ...], density_kg_per_m3: float
) -> FlatPattern:
    faces, zones = _along(part, taken, flats_mm)
    developed_mm, length_mm = faces[-1].to_mm, part.section.length_mm
    holes = tuple(_flat_hole(hole, taken, faces) for hole in part.section.holes)
    area_mm2 = developed_mm * length_mm - sum(hole.area_mm2 for hole in holes)
    pattern = FlatPattern(
        part=part.name,
        thickness_mm=part.thickness_mm,
        faces=faces,
        zones=zones,
        outline_mm=_strip(length_mm, 0.0, developed_mm),
        holes=holes,
        developed_mm=developed_mm,
        along_bends_mm=length_mm,
        area_mm2=area_mm2,
        mass_kg=area_mm2 * part.thickness_mm * density_kg_per_m3 / MM3_PER_M3,
        findings=tuple(allowance_findings(part.thickness_mm, taken)),
    )
    return replace(pattern, findings=(*pattern.findings, *hole_findings(pattern)))


def _along(
    part: Part, taken: tuple[FormedBend, ...], flats_mm: tuple[float, ...]
) -> tuple[tuple[FlatFace, ...], tuple[BendZone, ...]]:
    """Faces and zones one after the other from the start edge. Legs are numbered from 1, webs of offsets after them."""
    length_mm = part.section.length_mm
    faces = [FlatFace(1, _strip(length_mm, 0.0, max(flats_mm[0], 0.0)))]
    zones: list[BendZone] = []
    webs = len(flats_mm)
    for leg, each in enumerate(taken, start=2):
        labels = each.zones
        for label, toward in labels:
            is_web = len(labels) == 2 and label == labels[0][0]
            webs += 1 if is_web else 0
            number, flat_mm = (webs, each.web_mm or 0.0) if is_web else (leg, flats_mm[leg - 1])
            zones.append(_zone(part, each, label, toward, (faces[-1].number, number), faces[-1].to_mm))
            from_mm = faces[-1].to_mm + each.allowance.allowance_mm
            faces.append(FlatFace(number, _strip(length_mm, from_mm, from_mm + max(flat_mm, 0.0))))
    return tuple(faces), tuple(zones)


def _zone(
    part: Part, taken: FormedBend, label: str, toward: bool, faces: tuple[int, int], begins_mm: float
) -> BendZone:
    line_mm = begins_mm + taken.allowance.allowance_mm / 2
    return BendZone(
        bend=taken.bend.number,
        label=label,
        face_from=faces[0],
        face_to=faces[1],
        line_mm=((0.0, line_mm), (part.section.length_mm, line_mm)),
        turn_deg=taken.bend.turn_deg,
        toward=toward,
        inside_radius_mm=taken.radius_mm,
        allowance=taken.allowance,
    )


def _flat_hole(hole: WantedHole, taken: Sequence[FormedBend], faces: Sequence[FlatFace]) -> FlatHole:
    begins_mm = next(face.from_mm for face in faces if face.number == hole.leg)
    developed_mm = begins_mm + hole.across_mm - _ends_mm(taken, hole.leg)[0]
    return FlatHole(hole.number, hole.leg, (hole.along_mm, developed_mm), hole.diameter_mm, hole.size_mm)


def _strip(length_mm: float, near_mm: float, far_mm: float) -> tuple[Point, ...]:
    return ((0.0, near_mm), (length_mm, near_mm), (length_mm, far_mm), (0.0, far_mm))
