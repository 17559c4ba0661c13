"""Where the flanges of a face end: at their own ends, at the bends beside them, at corners open, closed or lapped."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from flangewise.findings import Finding, place, refuse
from flangewise.geometry import Edge, Frame, hinge_motion, inner_angle_deg
from flangewise.part import Corner, CornerRelief, Panel
from flangewise.pattern.corner_plane import CornerPlane, corner_plane, line_clear_of, square_end
from flangewise.pattern.flat_pattern import BendZone
from flangewise.pattern.folded import hinge_of
from flangewise.pattern.offsets import half_of
from flangewise.pattern.walk import CornerCut, EndLine, FaceEdge, Hung, corner_of

# Under this a flange reaches the corner, and a length is none: far under what can be cut, far over rounding.
NOTHING_MM = 1e-6
NOTHING_DEG = 1e-6
# Relief holes of an airframe manual (FAA-H-8083-31, chapter 4): 1/8 in up to 0.064 in of sheet, 3/16 in above; twice
# the inside radius where that is more.
THIN_MM, THIN_HOLE_MM, THICK_HOLE_MM = 1.6, 3.2, 4.8
RIGHT_DEG = 90.0

Planes = tuple[CornerPlane | None, CornerPlane | None]


def round_relief_mm(thickness_mm: float, radius_mm: float) -> float:
    """The diameter of a relief hole at a corner by the rule. Source: FAA-H-8083-31, chapter 4, Folding a box."""
    return max(2 * radius_mm, THIN_HOLE_MM if thickness_mm <= THIN_MM else THICK_HOLE_MM)


def hung_on(
    edges: tuple[FaceEdge, ...],
    base: Panel | None,
    every_corner: Corner,
    stand: Frame,
    inherited: Planes,
    thickness_mm: float,
) -> tuple[tuple[FaceEdge, ...], dict[int, Planes], tuple[Finding, ...]]:
    """The edges of a face, each flange with its ends and what is cut at its corners; the planes of the ends, by face.

    `base`: the panel where the face is its base, whose corners have names. `inherited`: the planes at the ends of the
    bend that the face hangs on. Findings: a flange of whose bend line nothing is left, a relief too large.
    """
    corners = [_corner(base, every_corner, edges[at - 1], edge) for at, edge in enumerate(edges)]
    planes: dict[int, Planes] = {}
    found: list[FaceEdge] = []
    for at, edge in enumerate(edges):
        ended = []
        for hung in edge.hung:
            around = (edges[at - 1], edges[(at + 1) % len(edges)])
            kinds = (corners[at], corners[(at + 1) % len(edges)])
            own = inherited if edge.name == "tip" else (None, None)
            made, planes[hung.flange.number] = _ended(hung, edge, around, kinds, stand, own, thickness_mm)
            ended.append(made)
        found.append(replace(edge, hung=tuple(ended)))
    cut, told = _with_cuts(tuple(found), corners, thickness_mm)
    nothing = [
        refuse("bend-without-length", place("bend", hung.taken.bend.number), face=hung.flange.face)
        for edge in cut
        for hung in edge.hung
        if hung.line_mm[1] - hung.line_mm[0] <= NOTHING_MM
    ]
    return cut, planes, (*nothing, *told)


def _corner(base: Panel | None, every: Corner, before: FaceEdge, edge: FaceEdge) -> Corner:
    """How the corner between two edges is wanted; on a flange as every corner is, where its flanges can be so."""
    if base is not None:
        return base.corner(before.name, edge.name)
    one, other = before.reaching(1), edge.reaching(0)
    if one is None or other is None or not _alike(before, edge, one, other) or every.kind == "lapped":
        return replace(every, kind="open")
    return every


def _alike(before: FaceEdge, after: FaceEdge, one: Hung, other: Hung) -> bool:
    bends = one.taken.bend, other.taken.bend
    same = abs(bends[0].signed_turn_deg - bends[1].signed_turn_deg) < NOTHING_DEG
    same = same and all(bend.kind != "offset" for bend in bends)
    return same and inner_angle_deg(before.edge, after.edge) < 180.0 - NOTHING_DEG


def _ended(
    hung: Hung,
    edge: FaceEdge,
    around: tuple[FaceEdge, FaceEdge],
    corners: tuple[Corner, Corner],
    stand: Frame,
    inherited: Planes,
    thickness_mm: float,
) -> tuple[Hung, Planes]:
    """A flange with its left and right end."""
    feet, ends = [hung.low_mm, hung.high_mm], []
    planes = list(inherited)
    finished = _finished(hung, edge, stand, thickness_mm)
    for end, other in enumerate(around):
        corner = corners[end]
        line: EndLine | None = None
        if hung.reaches[end]:
            met = corner_of(edge, other) if end else corner_of(other, edge)
            feet[end] = edge.edge.place_of(met)[0]
            neighbour = other.reaching(1 - end)
            pair = (edge, other) if end else (other, edge)
            if neighbour is not None and _alike(*pair, hung, neighbour):
                planes[end] = corner_plane(pair[0].edge, pair[1].edge, stand, of_after=not end)
            if neighbour is not None and corner.kind == "lapped":
                into_mm = 0.0 if edge.name in corner.over else thickness_mm + corner.gap_mm
                line = EndLine(edge.edge.length_mm - into_mm if end else into_mm, 0.0)
        plane = planes[end]
        closed = hung.reaches[end] and corner.kind == "closed" and other.reaching(1 - end) is not None
        if plane is not None and (hung.flange.mitred or closed):
            gap_mm = hung.flange.gap_mm if hung.flange.mitred else corner.gap_mm
            line = line_clear_of(
                plane,
                edge.edge,
                finished,
                out_mm=hung.out_mm - hung.setback_mm,
                thickness_mm=thickness_mm,
                gap_mm=gap_mm,
            )
        line = line or square_end(feet[end], hung.flange.mitre_deg[end], left=not end)
        ends.append(line)
        foot_mm = _foot_mm(hung, line, end)
        feet[end] = min(feet[end], foot_mm) if end else max(feet[end], foot_mm)
    made = replace(hung, low_mm=feet[0], high_mm=feet[1], ends=(ends[0], ends[1]))
    return made, (planes[0], planes[1])


def _foot_mm(hung: Hung, line: EndLine, end: int) -> float:
    """Where the flange's end stands on the outer side of its zone: a zone is never wider than what hangs on it."""
    shape = hung.flange.shape_mm
    if not shape:
        return line.at_mm(hung.setback_mm)
    (u, v), (to_u, to_v) = (shape[-1], shape[-2]) if end else (shape[0], shape[1])
    return u if to_v <= v else u + (to_u - u) * min(1.0, hung.setback_mm / (to_v - v))


def _finished(hung: Hung, edge: FaceEdge, stand: Frame, thickness_mm: float) -> Frame:
    """How the flange stands when it is bent, wherever its ends are."""
    zone = zone_of(0, edge.edge, hung)
    return stand.after(hinge_motion(hinge_of(zone), zone.signed_turn_deg, thickness_mm=thickness_mm))


def zone_of(face: int, edge: Edge, hung: Hung) -> BendZone:
    """The bend zone of a flange on an edge of a face; its line runs so that the flange lies to the left of it."""
    middle_mm = hung.width_mm / 2 - hung.setback_mm
    low_mm, high_mm = hung.line_mm
    bend = hung.taken.bend
    label, toward = hung.taken.zones[half_of(hung.flange)]
    return BendZone(
        bend=bend.number,
        label=label,
        face_from=face,
        face_to=hung.flange.number,
        line_mm=(edge.at(high_mm, middle_mm), edge.at(low_mm, middle_mm)),
        turn_deg=bend.turn_deg,
        toward=toward,
        inside_radius_mm=hung.taken.radius_mm,
        allowance=hung.taken.allowance,
    )


def _with_cuts(
    edges: tuple[FaceEdge, ...], corners: list[Corner], thickness_mm: float
) -> tuple[tuple[FaceEdge, ...], tuple[Finding, ...]]:
    """The edges with what is cut where two bends reach a corner; findings where it would cut into the flanges."""
    told: list[Finding] = []
    cut: Mapping[int, CornerCut | None] = {}
    for at, (corner, edge) in enumerate(zip(corners, edges, strict=True)):
        before = edges[at - 1]
        one, other = before.reaching(1), edge.reaching(0)
        if one is None or other is None or corner.relief.kind == "none":
            continue
        half_mm = _half_mm(corner.relief, max(one.taken.radius_mm, other.taken.radius_mm), thickness_mm)
        met = corner_of(before, edge)
        at_corner = all(
            math.dist(met, each.edge.at(u, -hung.setback_mm)) < NOTHING_MM
            for each, hung, u in ((before, one, one.high_mm), (edge, other, other.low_mm))
        )
        square = abs(inner_angle_deg(before.edge, edge.edge) - RIGHT_DEG) < NOTHING_DEG
        most_mm = min(one.width_mm, other.width_mm)
        where = place("corner", f"{before.name}/{edge.name}")
        if half_mm > most_mm:
            told.append(refuse("corner-relief-too-large", where, relief_mm=2 * half_mm, most_mm=2 * most_mm))
            continue
        if not at_corner or (corner.relief.kind == "square" and not square):
            told.append(refuse("corner-relief-off-bends", where))
            continue
        cut = {**cut, at: CornerCut("square" if corner.relief.kind == "square" else "round", half_mm)}
    return tuple(_cut_edge(edge, cut.get(at), cut.get((at + 1) % len(edges))) for at, edge in enumerate(edges)), tuple(
        told
    )


def _half_mm(relief: CornerRelief, radius_mm: float, thickness_mm: float) -> float:
    return (round_relief_mm(thickness_mm, radius_mm) if relief.size_mm is None else relief.size_mm) / 2


def _cut_edge(edge: FaceEdge, first: CornerCut | None, last: CornerCut | None) -> FaceEdge:
    if not edge.hung or (first is None and last is None):
        return edge
    hung = list(edge.hung)
    if first is not None:
        hung[0] = replace(hung[0], cuts=(first, hung[0].cuts[1]))
    if last is not None:
        hung[-1] = replace(hung[-1], cuts=(hung[-1].cuts[0], last))
    return replace(edge, hung=tuple(hung))
