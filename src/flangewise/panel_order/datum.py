"""Where the bend lines of a panel come to lie through gauging: the datum tree in every direction, over all its faces.

Every line stands where its stop put it: off a cut edge, or off a formed flange, wherever that stands in the part as it
then is. What the stop feels is taken from the part folded up, each source moved a little: lines that were made before,
cut edges, half the deduction and the angle of each bend on the way. So one rule serves edges, flanges and ways past
bends. Cut edges of one direction are measured from the first of them. Derived here, as `sequence.datum`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from flangewise.geometry import Edge, Point, edges_of, fold_tree
from flangewise.panel_order.solution import PanelStep
from flangewise.pattern import FlatFace, PanelBlank, hinge_of

# What each source is moved by to see what a stop feels of it: far over rounding, far under what bends the rule.
STEP_MM, STEP_DEG = 1e-3, 1e-3
# Edges and lines are of one direction, and cut edges on one line, to within this.
SAME_DEG, SAME_MM = 0.05, 0.05

# A source is its kind and what it belongs to: the step of a stop, the bend, or the line of a cut edge.
Source = tuple[str, object]
SourceTerms = dict[Source, float]


def line_terms(blank: PanelBlank, steps: Sequence[PanelStep]) -> Mapping[int, SourceTerms]:
    """By how much every bend's line is off, outward from the face it hangs on, as sums of signed sources."""
    known: dict[int, SourceTerms] = {}
    for at, step in enumerate(steps):
        outward = -1.0 if step.parent_behind else 1.0
        felt: list[tuple[float, SourceTerms]] = [(1.0, {("stop", at): 1.0})]
        if step.gauged is not None:
            edge = _touched(blank, step)
            if edge is not None:
                felt.append((-1.0, cut_edge(blank, edge[1])))
            for bend in sorted(step.done & _on_the_way(blank, step)):
                moved, opened, turned = _rates(blank, step, edge, bend)
                felt.append((-moved, known[bend]))
                felt.append((-opened, {("half-deduction", bend): 1.0}))
                felt.append((-turned, {("angle", bend): 1.0}))
        # Where more on X brings the line away from the stop: outward with the parent behind, else inward.
        known |= dict.fromkeys(step.bends, summed((-outward * weight, terms) for weight, terms in felt))
    return known


def _on_the_way(blank: PanelBlank, step: PanelStep) -> frozenset[int]:
    """The bends between the line and the face that the stops touch."""
    assert step.gauged is not None
    hung_by = {zone.face_to: zone for zone in blank.zones}

    def up_from(face: int) -> set[int]:
        bends = set()
        while face in hung_by:
            bends.add(hung_by[face].bend)
            face = hung_by[face].face_from
        return bends

    zone = step.operation.zones[0]
    root = zone.face_from if step.parent_behind else zone.face_to
    return frozenset(up_from(root) ^ up_from(step.gauged.face))


def _rates(
    blank: PanelBlank, step: PanelStep, edge: tuple[FlatFace, Edge] | None, bend: int
) -> tuple[float, float, float]:
    """How much further from the line the touched thing stands, of a bend made before: for a mm of its line outward,
    for a mm on each leg beside it, for a radian of its turn."""
    changes = ((STEP_MM, 0.0, 0.0), (0.0, STEP_MM, 0.0), (0.0, 0.0, STEP_DEG))
    more, less = (
        [_felt_mm(blank, step, edge, bend, *(sign * each for each in change)) for change in changes]
        for sign in (1.0, -1.0)
    )
    moved, opened, turned = (high - low for high, low in zip(more, less, strict=True))
    return moved / (2 * STEP_MM), opened / (2 * STEP_MM), turned / (2 * math.radians(STEP_DEG))


def _felt_mm(
    blank: PanelBlank,
    step: PanelStep,
    edge: tuple[FlatFace, Edge] | None,
    bend: int,
    moved_mm: float,
    opened_mm: float,
    turned_deg: float,
) -> float:
    """How far behind the line the touched edge or face stands in the part as it lies, one bend of it changed."""
    hinges, turns_deg = [], []
    for zone in blank.zones:
        hinge, turn_deg = hinge_of(zone), zone.signed_turn_deg if zone.bend in step.done else 0.0
        if zone.bend == bend:
            axis = math.radians(hinge.axis_deg)
            shifted = (hinge.edge_mm[0] - moved_mm * math.sin(axis), hinge.edge_mm[1] + moved_mm * math.cos(axis))
            longer_mm = opened_mm / math.tan(math.radians(zone.turn_deg) / 2)
            hinge = replace(hinge, edge_mm=shifted, radius_mm=hinge.radius_mm + longer_mm)
            turn_deg += turned_deg if zone.toward else -turned_deg
        hinges.append(hinge)
        turns_deg.append(turn_deg)
    zone = step.operation.zones[0]
    root = zone.face_from if step.parent_behind else zone.face_to
    fold = fold_tree(hinges, turns_deg, thickness_mm=blank.thickness_mm, root=root)
    behind = np.array([*_behind(step), 0.0])
    if edge is not None:
        face, touched = edge
        middle = touched.at(touched.length_mm / 2, 0.0)
        return float((fold.folded_mm(face.number, [middle])[0] - [*zone.line_mm[0], 0.0]) @ behind)
    assert step.gauged is not None
    frame, lies = fold.frames[step.gauged.face], 1.0 if step.marked_up else -1.0
    normal = np.array(frame.normal)
    at = fold.folded_mm(step.gauged.face, [_ring_of(blank, step.gauged.face)[0]])[0] - [*zone.line_mm[0], 0.0]
    height_mm = lies * (step.gauged.height_mm - blank.thickness_mm / 2)
    skins = (normal @ at + side * blank.thickness_mm / 2 - height_mm * normal[2] for side in (-1.0, 1.0))
    return float(max(skin / (normal @ behind) for skin in skins))


def _behind(step: PanelStep) -> Point:
    """The direction on the blank from the line toward the stops; what is bent lies to the left of the line."""
    dx, dy = step.operation.along
    return (dy, -dx) if step.parent_behind else (-dy, dx)


def _ring_of(blank: PanelBlank, face: int) -> tuple[Point, ...]:
    return next(each.outline_mm for each in blank.faces if each.number == face)


def _touched(blank: PanelBlank, step: PanelStep) -> tuple[FlatFace, Edge] | None:
    """The cut edge that the stops touch: of the face told, the one furthest behind; None for a formed flange."""
    assert step.gauged is not None
    if step.gauged.on != "edge":
        return None
    zone = step.operation.zones[0]
    turns_deg = [each.signed_turn_deg if each.bend in step.done else 0.0 for each in blank.zones]
    root = zone.face_from if step.parent_behind else zone.face_to
    fold = fold_tree([hinge_of(each) for each in blank.zones], turns_deg, thickness_mm=blank.thickness_mm, root=root)
    behind = np.array([*_behind(step), 0.0])
    face = next(each for each in blank.faces if each.number == step.gauged.face)

    def nearer_end(edge: Edge) -> float:
        return float((fold.folded_mm(face.number, [edge.first_mm, edge.last_mm]) @ behind).min())

    return face, max(edges_of(face.outline_mm), key=nearer_end)


def cut_edge(blank: PanelBlank, edge: Edge) -> SourceTerms:
    """How far out a cut edge stands: nothing of the first of its direction, for the others are measured from it."""
    outward = edge.outward
    angle_deg = math.degrees(math.atan2(outward[1], outward[0])) % 360.0
    low = 90.0 - SAME_DEG < angle_deg <= 270.0 - SAME_DEG
    along = (-outward[0], -outward[1]) if low else outward
    at_mm = offset_mm(edge, along)
    first_mm = min(offset_mm(each, along) for each in edges_of(blank.outline_mm) if _is_along(each, along))
    if at_mm - first_mm <= SAME_MM:
        return {}
    # Sources are told by their direction to a tenth of a degree and their place to a tenth of a millimetre.
    key = (round(angle_deg % 180.0, 1), round(at_mm, 1))
    return {("cut", key): -1.0 if low else 1.0}


def offset_mm(edge: Edge, along: Point) -> float:
    """How far along a direction an edge lies that is square to it."""
    return edge.first_mm[0] * along[0] + edge.first_mm[1] * along[1]


def _is_along(edge: Edge, along: Point) -> bool:
    if edge.length_mm < SAME_MM:
        return False
    outward = edge.outward
    return abs(outward[0] * along[1] - outward[1] * along[0]) <= math.sin(math.radians(SAME_DEG))


def summed(weighted: Iterable[tuple[float, SourceTerms]]) -> SourceTerms:
    """Sums of sources, each with its weight, as one."""
    total: SourceTerms = {}
    for weight, terms in weighted:
        for source, value in terms.items():
            total[source] = total.get(source, 0.0) + weight * value
    return total
