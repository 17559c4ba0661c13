"""A panel laid out flat: each face by the walk round it, flanges hung on flanges, the outline, the holes."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence

from flangewise.findings import Finding, place, refuse
from flangewise.geometry import (
    Edge,
    Frame,
    Point,
    Vertex,
    area_with_arcs_mm2,
    crossing,
    drawn_out,
    edges_of,
    hinge_motion,
    tidied,
)
from flangewise.part import BASE, BASE_FACE, Panel, PanelPart, WantedFlange, WantedHole
from flangewise.pattern.corner_plane import CornerPlane
from flangewise.pattern.ends import NOTHING_MM, hung_on, zone_of
from flangewise.pattern.flat_pattern import BendZone, FlatFace, FlatHole, NoBlank, PanelBlank
from flangewise.pattern.folded import hinge_of
from flangewise.pattern.offsets import low_offsets, with_webs
from flangewise.pattern.panel_checks import finished_findings, flat_findings, ring_findings
from flangewise.pattern.taken import FormedBend, allowance_findings, taken_by
from flangewise.pattern.walk import FaceEdge, Hung, Join, walked
from flangewise.records import dataclass, replace
from flangewise.shop import Shop

MM3_PER_M3 = 1e9


@dataclass(frozen=True)
class _Face:
    """A face about to be laid out: its sized ring on the blank, the names of its edges, how it stands when finished.

    `root_setback_mm` is that of the bend it hangs on, by its last edge; `planes` are the corner planes at the left and
    right end of that bend; `radii_mm` round the corners, of the base only.
    """

    number: int
    name: str
    ring_mm: tuple[Point, ...]
    edges: tuple[str, ...]
    flanges: tuple[WantedFlange, ...]
    stand: Frame
    root_setback_mm: float | None = None
    planes: tuple[CornerPlane | None, CornerPlane | None] = (None, None)
    radii_mm: tuple[float, ...] = ()


@dataclass(frozen=True)
class _Laid:
    """A face laid out with all that hangs on it: its own way round on the blank, and what is found on the way."""

    ring: tuple[Vertex, ...]
    faces: tuple[FlatFace, ...]
    zones: tuple[BendZone, ...]
    findings: tuple[Finding, ...]
    origins: Mapping[int, tuple[Edge, float]]


def lay_out_panel(
    part: PanelPart,
    shop: Shop,
    *,
    radii_mm: Mapping[int, float],
    rule: str | None = None,
    deductions_mm: Mapping[int, float] | None = None,
) -> PanelBlank:
    """The blank of a panel with the inside radius each bend gets; the rest as `lay_out` has it.

    A place v of a flange beyond its bend lies v - (2 setbacks - allowance) outside the edge it hangs on.
    Raises NoBlank, with a `refuse` finding each, where a flange is used up by its bends, nothing is left of a bend
    line, an offset is lower than its arcs, or reliefs and bends of a face run into each other.
    """
    panel, t = part.panel, part.thickness_mm
    assert isinstance(panel, Panel)
    learned = deductions_mm or {}
    taken = {
        bend.number: taken_by(
            bend,
            radii_mm[bend.number],
            thickness_mm=t,
            sizes=panel.sizes,
            rule=rule or shop.defaults.rule,
            learned_mm=learned.get(bend.number),
        )
        for bend in panel.bends
    }
    low = tuple(low_offsets(tuple(taken.values()), t))
    if low:
        raise NoBlank(low)
    flanges = with_webs(panel.flanges, taken, itertools.count(len(taken) + BASE_FACE + 1))
    base = _Face(BASE_FACE, BASE, panel.ring_mm, panel.edges, flanges, Frame(), radii_mm=panel.radii_mm)
    laid = _laid(base, panel, taken, t)
    if laid.findings:
        raise NoBlank(laid.findings)
    ring = tidied(laid.ring)
    holes = tuple(_flat_hole(hole, *laid.origins[hole.leg]) for hole in panel.holes)
    area_mm2 = area_with_arcs_mm2(ring) - sum(hole.area_mm2 for hole in holes)
    blank = PanelBlank(
        part=part.name,
        thickness_mm=t,
        faces=tuple(sorted(laid.faces, key=lambda face: face.number)),
        zones=tuple(sorted(laid.zones, key=lambda zone: zone.bend)),
        outline_mm=tuple(vertex.point for vertex in ring),
        holes=holes,
        area_mm2=area_mm2,
        mass_kg=area_mm2 * t * shop.materials[part.material].density_kg_per_m3 / MM3_PER_M3,
        findings=tuple(allowance_findings(t, tuple(taken.values()))),
        bulges=tuple(vertex.bulge for vertex in ring),
    )
    return replace(blank, findings=(*blank.findings, *flat_findings(blank), *finished_findings(blank)))


def _laid(face: _Face, panel: Panel, taken: Mapping[int, FormedBend], thickness_mm: float) -> _Laid:
    """A face and, from its edges outward, all that hangs on it."""
    short = any(edge.length_mm < NOTHING_MM for edge in edges_of(face.ring_mm))
    if short or crossing(face.ring_mm) is not None:
        return _Laid((), (), (), (refuse("ends-meet", place("face", face.name)),), {})
    edges, planes, told = _edges(face, panel, taken, thickness_mm)
    flat = FlatFace(face.number, drawn_out(tidied(_ring(walked(edges, flat=True)))), face.name)
    told = told or tuple(ring_findings(flat))
    below: dict[int, _Laid] = {}
    zones: list[BendZone] = []
    origins: dict[int, tuple[Edge, float]] = {BASE_FACE: (Edge((0.0, 0.0), (1.0, 0.0)), 0.0)}
    if not told:
        for edge in edges:
            for hung in edge.hung:
                zone = zone_of(face.number, edge.edge, hung)
                stand = face.stand.after(hinge_motion(hinge_of(zone), zone.signed_turn_deg, thickness_mm=thickness_mm))
                child = _hanging(edge.edge, hung, stand, planes[hung.flange.number])
                below[hung.flange.number] = _laid(child, panel, taken, thickness_mm)
                zones.append(zone)
                origins[hung.flange.number] = edge.edge, hung.out_mm - hung.setback_mm
    return _Laid(
        ring=() if told else tuple(_around(walked(edges, flat=False), below)),
        faces=(flat, *(each for laid in below.values() for each in laid.faces)),
        zones=(*zones, *(each for laid in below.values() for each in laid.zones)),
        findings=(*told, *(each for laid in below.values() for each in laid.findings)),
        origins=origins | {number: at for laid in below.values() for number, at in laid.origins.items() if number > 1},
    )


def _edges(
    face: _Face, panel: Panel, taken: Mapping[int, FormedBend], thickness_mm: float
) -> tuple[tuple[FaceEdge, ...], dict[int, tuple[CornerPlane | None, CornerPlane | None]], tuple[Finding, ...]]:
    """The edges of a face with the flanges they carry, each with its ends; the planes of those ends, and faults."""
    bare = []
    for at, edge in enumerate(edges_of(face.ring_mm)):
        if at == len(face.edges):
            bare.append(FaceEdge(edge, "", root_setback_mm=face.root_setback_mm))
            continue
        name = face.edges[at]
        hung = [_begun(each, edge, taken, thickness_mm) for each in face.flanges if each.edge == name]
        rounded = face.radii_mm[at] if face.radii_mm else 0.0
        bare.append(FaceEdge(edge, name, hung=tuple(sorted(hung, key=lambda each: each.low_mm)), rounded_mm=rounded))
    short = (*_beyond(bare), *_used_up(face, bare))
    if short:
        return tuple(bare), {}, short
    return hung_on(
        tuple(bare), panel if face.name == BASE else None, panel.every_corner, face.stand, face.planes, thickness_mm
    )


def _begun(flange: WantedFlange, edge: Edge, taken: Mapping[int, FormedBend], thickness_mm: float) -> Hung:
    """A flange on its edge, before its ends are known."""
    high_mm = flange.to_mm if flange.to_mm is not None else edge.length_mm - flange.inset_mm
    beside = (flange.from_mm, edge.length_mm - high_mm)
    return Hung(
        flange,
        taken[flange.bend.number],
        thickness_mm,
        flange.from_mm,
        high_mm,
        reaches=(beside[0] < NOTHING_MM, beside[1] < NOTHING_MM),
        beside_mm=beside,
    )


def _beyond(edges: Sequence[FaceEdge]) -> Iterator[Finding]:
    """Flanges that do not stand within their edge; of the base the file was held to it, of others it is known here."""
    for edge in edges:
        for hung in edge.hung:
            if min(hung.beside_mm) < -NOTHING_MM:
                yield refuse("flange-off-edge", place("face", hung.flange.face), edge_mm=edge.edge.length_mm)


def _used_up(face: _Face, edges: Sequence[FaceEdge]) -> Iterator[Finding]:
    """A face of four edges that is no wider than what its bends take of it."""
    if len(edges) != 4:
        return
    for one, other in ((edges[0], edges[2]), (edges[1], edges[3])):
        taken = [
            edge.root_setback_mm or max((each.setback_mm for each in edge.hung), default=0.0) for edge in (one, other)
        ]
        wide_mm = max(-one.edge.place_of(point)[1] for point in (other.edge.first_mm, other.edge.last_mm))
        if sum(taken) > 0 and wide_mm <= sum(taken) + NOTHING_MM:
            yield refuse("flange-inside-bends", place("face", face.name), flange_mm=wide_mm, least_mm=sum(taken))


def _hanging(edge: Edge, hung: Hung, stand: Frame, planes: tuple[CornerPlane | None, CornerPlane | None]) -> _Face:
    """The face that hangs by a bend: its ring on the blank runs from its left foot round to its right foot."""
    flange, shift_mm = hung.flange, hung.out_mm - hung.setback_mm
    left, right = hung.ends
    tip_mm = flange.height_mm or 0.0
    places = flange.shape_mm or (
        (left.at_mm(0.0), 0.0),
        (left.at_mm(tip_mm), tip_mm),
        (right.at_mm(tip_mm), tip_mm),
        (right.at_mm(0.0), 0.0),
    )
    return _Face(
        flange.number,
        flange.face,
        tuple(edge.at(u, v + shift_mm) for u, v in places),
        flange.edges,
        flange.flanges,
        stand,
        root_setback_mm=hung.setback_mm,
        planes=planes,
    )


def _ring(items: Sequence[Vertex | Join]) -> list[Vertex]:
    return [item for item in items if isinstance(item, Vertex)]


def _around(items: Sequence[Vertex | Join], below: Mapping[int, _Laid]) -> Iterator[Vertex]:
    """The way round a face and all that hangs on it."""
    for item in items:
        if isinstance(item, Vertex):
            yield item
            continue
        hung = item.hung
        yield Vertex(item.edge.at(hung.low_mm, hung.out_mm))
        yield from below[hung.flange.number].ring
        yield Vertex(item.edge.at(hung.high_mm, hung.out_mm))


def _flat_hole(hole: WantedHole, edge: Edge, out_mm: float) -> FlatHole:
    """A hole at its place on the blank. On the base v is across, inward of its near edge."""
    v_mm = -hole.across_mm if hole.leg == BASE_FACE else hole.across_mm + out_mm
    return FlatHole(
        hole.number, hole.leg, edge.at(hole.along_mm, v_mm), hole.diameter_mm, hole.size_mm, along=edge.along
    )
