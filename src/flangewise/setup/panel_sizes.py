"""What the sizes of a panel may be off by through gauging: the datum tree in two directions, over all of its faces.

Every bend line stands where its stop put it: off a cut edge, or off a formed flange, wherever that stands in the
part as it then is. What the stop feels is taken from the part folded up, each source moved a little: lines that were
made before, cut edges, half the deduction and the angle of each bend on the way. So one rule serves edges, flanges and
ways past bends, in any direction. A size is a sum of the sources at its two ends; worst case adds them, the statistical
figure their squares. Cut edges of one direction are measured from the first of them. Derived here, as `sequence.datum`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from flangewise.bend import linear_tolerance_mm
from flangewise.findings import place
from flangewise.geometry import Edge, Point, edges_of, fold_tree
from flangewise.panel_order import PanelStep
from flangewise.part import BASE, BASE_FACE, PanelPart
from flangewise.pattern import BendZone, FlatFace, PanelBlank, hinge_of
from flangewise.sequence import Tolerances
from flangewise.setup.step import Correction
from flangewise.words import Phrase

# What each source is moved by to see what a stop feels of it: far over rounding, far under what bends the rule.
STEP_MM, STEP_DEG = 1e-3, 1e-3
# Edges and lines are of one direction, and cut edges on one line, to within this.
SAME_DEG, SAME_MM = 0.05, 0.05
NOTHING = 1e-9
# A size that follows a stop by less than this share is corrected badly by it.
WELL = 0.5

# A source is its kind and what it belongs to: the step of a stop, the bend, or the line of a cut edge.
Source = tuple[str, object]
Terms = dict[Source, float]


@dataclass(frozen=True)
class PanelSize:
    """What one size of a panel may be off by: a flange's height, or the base over two of its `edges`.

    Worst case and statistically, and what is allowed, None where nothing says so. `terms` are the sources, each with
    how much of it the size gets: ("stop", place of the step), ("half-deduction", bend), ("angle", bend), ("cut", line).
    `bends` end it.
    """

    face: int
    face_name: str
    edges: tuple[str, ...]
    nominal_mm: float
    worst_mm: float
    statistical_mm: float
    allowed_mm: float | None
    terms: tuple[tuple[Source, float], ...]
    bends: tuple[int, ...]

    @property
    def name(self) -> str:
        """What a reading is given for: the flange, or the edges of the base it is taken over."""
        return "/".join(self.edges) or self.face_name

    @property
    def where(self) -> Phrase:
        """The size, as a finding names it."""
        return place("face", f"{BASE} {self.name}" if self.edges else self.name)

    def per_mm(self, step: int) -> float:
        """What it grows by for one more on the X of a step, by the step's place in the plan."""
        return dict(self.terms).get(("stop", step), 0.0)


def panel_sizes(
    part: PanelPart, blank: PanelBlank, steps: Sequence[PanelStep], tolerances: Tolerances
) -> tuple[PanelSize, ...]:
    """The error of the base over its outermost edges and of every flange's height, under the gauging of a plan."""
    lines = line_terms(blank, steps)
    found = []
    for face, name, edges, nominal_mm, terms in _sizes(part, blank, lines):
        own = [abs(value) * tolerances.of((source[0], 0)) for source, value in terms.items()]
        kept = tuple((source, value) for source, value in terms.items() if abs(value) > NOTHING)
        likely_mm = math.sqrt(sum(each * each for each in own))
        allowed_mm = _allowed_mm(part, name, nominal_mm)
        bends = _ends_of(part, face, edges)
        found.append(PanelSize(face, name, edges, nominal_mm, sum(own), likely_mm, allowed_mm, kept, bends))
    return tuple(found)


def own_sizes(sizes: Sequence[PanelSize], steps: Sequence[PanelStep]) -> Mapping[int, int]:
    """By the place of each step the place of the size that comes out with its stop, each size for one step.

    It is one that the stop moves well and no later step ends anew: first what its bends end on the side of the stop,
    then what they end in front, as of a section.
    """
    at = {bend: place for place, step in enumerate(steps) for bend in step.bends}
    own: dict[int, int] = {}
    for place_of, step in enumerate(steps):
        behind = step.operation.parents if step.parent_behind else step.operation.faces
        fits = [
            (not set(size.bends) & set(step.bends), size.face not in behind, number)
            for number, size in enumerate(sizes)
            if abs(size.per_mm(place_of)) >= WELL and number not in own.values()
            if max((at.get(bend, -1) for bend in size.bends), default=-1) <= place_of
        ]
        if fits:
            own[place_of] = min(fits)[-1]
    return own


def panel_corrections(
    sizes: Sequence[PanelSize], steps: Sequence[PanelStep], numbers: Sequence[int]
) -> tuple[Correction | None, ...]:
    """What a change of X does at each hit; sizes count as legs in their order. `numbers` are the hits' in the plan."""
    own = own_sizes(sizes, steps)
    at = {bend: place for place, step in enumerate(steps) for bend in step.bends}
    found: list[Correction | None] = []
    for place_of, _ in enumerate(steps):
        if place_of not in own:
            found.append(None)
            continue
        size = sizes[own[place_of]]
        found.append(
            Correction(
                leg=own[place_of] + 1,
                nominal_mm=size.nominal_mm,
                plus_minus_mm=size.allowed_mm,
                x_per_mm=-1 / size.per_mm(place_of),
                legs_per_mm=tuple(round(each.per_mm(place_of), 6) for each in sizes),
                read_after=numbers[max(at[bend] for bend in size.bends)],
            )
        )
    return tuple(found)


def _ends_of(part: PanelPart, face: int, edges: tuple[str, ...]) -> tuple[int, ...]:
    """The bends that end a size."""
    if edges:
        return tuple(flange.bend.number for flange in part.panel.flanges if flange.edge in edges)
    flange = next(each for each in part.panel.all_flanges() if each.number == face)
    return (flange.bend.number, *(each.bend.number for each in flange.flanges if each.edge == "tip"))


def _allowed_mm(part: PanelPart, name: str, nominal_mm: float) -> float | None:
    told = part.tolerances
    if name in told.faces_mm:
        return told.faces_mm[name]
    return told.legs_mm[0] if told.legs_mm is not None else linear_tolerance_mm(nominal_mm)


def line_terms(blank: PanelBlank, steps: Sequence[PanelStep]) -> Mapping[int, Terms]:
    """By how much every bend's line is off, outward from the face it hangs on, as sums of signed sources."""
    known: dict[int, Terms] = {}
    for at, step in enumerate(steps):
        outward = -1.0 if step.parent_behind else 1.0
        felt: list[tuple[float, Terms]] = [(1.0, {("stop", at): 1.0})]
        if step.gauged is not None:
            edge = _touched(blank, step)
            if edge is not None:
                felt.append((-1.0, _cut(blank, *edge)))
            for bend in sorted(step.done & _on_the_way(blank, step)):
                moved, opened, turned = _rates(blank, step, edge, bend)
                felt.append((-moved, known[bend]))
                felt.append((-opened, {("half-deduction", bend): 1.0}))
                felt.append((-turned, {("angle", bend): 1.0}))
        # Where more on X brings the line away from the stop: outward with the parent behind, else inward.
        known |= dict.fromkeys(step.bends, _sum((-outward * weight, terms) for weight, terms in felt))
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


def _cut(blank: PanelBlank, face: FlatFace, edge: Edge) -> Terms:
    """How far out a cut edge stands: nothing of the first of its direction, for the others are measured from it."""
    outward = edge.outward
    angle_deg = math.degrees(math.atan2(outward[1], outward[0])) % 360.0
    low = 90.0 - SAME_DEG < angle_deg <= 270.0 - SAME_DEG
    along = (-outward[0], -outward[1]) if low else outward
    offset_mm = _offset_mm(edge, along)
    first_mm = min(_offset_mm(each, along) for each in edges_of(blank.outline_mm) if _is_along(each, along))
    if offset_mm - first_mm <= SAME_MM:
        return {}
    # Sources are told by their direction to a tenth of a degree and their place to a tenth of a millimetre.
    key = (round(angle_deg % 180.0, 1), round(offset_mm, 1))
    return {("cut", key): -1.0 if low else 1.0}


def _offset_mm(edge: Edge, along: Point) -> float:
    return edge.first_mm[0] * along[0] + edge.first_mm[1] * along[1]


def _is_along(edge: Edge, along: Point) -> bool:
    if edge.length_mm < SAME_MM:
        return False
    outward = edge.outward
    return abs(outward[0] * along[1] - outward[1] * along[0]) <= math.sin(math.radians(SAME_DEG))


def _sizes(
    part: PanelPart, blank: PanelBlank, lines: Mapping[int, Terms]
) -> Iterator[tuple[int, str, tuple[str, ...], float, Terms]]:
    """Face, name, the edges it is taken over, nominal size and sources of every size."""
    faces = {face.number: face for face in blank.faces}
    yield from _base_sizes(part, blank, lines)
    for flange in part.panel.all_flanges():
        zone = next(each for each in blank.zones if each.bend == flange.bend.number)
        dx, dy = zone.line_mm[1][0] - zone.line_mm[0][0], zone.line_mm[1][1] - zone.line_mm[0][1]
        out = (-dy / math.hypot(dx, dy), dx / math.hypot(dx, dy))
        tips = [each for each in blank.zones if each.face_from == zone.face_to and _is_line_along(each, out)]
        own = _sum([(-1.0, lines[zone.bend]), (1.0, {("half-deduction", zone.bend): 1.0})])
        ends = [_end_at(each, out, lines) for each in tips] or [_free_end(blank, faces[zone.face_to], out)]
        yield zone.face_to, flange.face, (), flange.tip_mm, _sum([(1.0, own), (1.0, _widest(ends))])


def _base_sizes(
    part: PanelPart, blank: PanelBlank, lines: Mapping[int, Terms]
) -> Iterator[tuple[int, str, tuple[str, ...], float, Terms]]:
    """The base over the outermost two edges of each direction that a flange or a cut ends on both sides."""
    panel = part.panel
    edges = dict(zip(panel.edges, edges_of(panel.ring_mm), strict=True))
    told: list[Point] = []
    for edge in edges.values():
        out = edge.outward
        if any(abs(out[0] * u[1] - out[1] * u[0]) <= math.sin(math.radians(SAME_DEG)) for u in told):
            continue
        told.append(out)
        ends = []
        for sign in (1.0, -1.0):
            way = (sign * out[0], sign * out[1])
            same = [(name, each) for name, each in edges.items() if _points(each.outward, way)]
            if same:
                name, far = max(same, key=lambda each: _offset_mm(each[1], way))
                ends.append((name, far, way))
        if len(ends) < 2:
            continue
        (one, first, way), (other, second, back) = ends
        size_mm = _offset_mm(first, way) + _offset_mm(second, back)
        terms = _sum((1.0, _base_end(part, blank, name, way, lines)) for name, _, way in ends)
        yield BASE_FACE, BASE, (one, other), size_mm, terms


def _base_end(part: PanelPart, blank: PanelBlank, name: str, way: Point, lines: Mapping[int, Terms]) -> Terms:
    bends = [flange.bend.number for flange in part.panel.flanges if flange.edge == name]
    base = next(face for face in blank.faces if face.number == BASE_FACE)
    if not bends:
        return _free_end(blank, base, way)
    return _widest([_end_at(zone, way, lines) for zone in blank.zones if zone.bend in bends])


def _end_at(zone: BendZone, way: Point, lines: Mapping[int, Terms]) -> Terms:
    """How far out along `way` a size ends at a bend: its line, and half its deduction."""
    (x, y), (to_x, to_y) = zone.line_mm
    length = math.dist(*zone.line_mm)
    side = ((y - to_y) * way[0] + (to_x - x) * way[1]) / length
    return _sum([(side, lines[zone.bend]), (1.0, {("half-deduction", zone.bend): 1.0})])


def _free_end(blank: PanelBlank, face: FlatFace, way: Point) -> Terms:
    """How far out along `way` a size ends at the cut edge furthest there."""
    edges = [edge for edge in edges_of(face.outline_mm) if _points(edge.outward, way)]
    if not edges:
        return {}
    return _cut(blank, face, max(edges, key=lambda edge: _offset_mm(edge, way)))


def _points(outward: Point, way: Point) -> bool:
    return outward[0] * way[0] + outward[1] * way[1] >= math.cos(math.radians(SAME_DEG))


def _is_line_along(zone: BendZone, out: Point) -> bool:
    (x, y), (to_x, to_y) = zone.line_mm
    return abs((to_x - x) * out[0] + (to_y - y) * out[1]) <= math.dist(*zone.line_mm) * math.sin(math.radians(SAME_DEG))


def _widest(ends: Sequence[Terms]) -> Terms:
    """Of several ends of one size the one with the most sources."""
    return max(ends, key=lambda terms: sum(abs(value) for value in terms.values()))


def _sum(weighted: Iterable[tuple[float, Terms]]) -> Terms:
    total: Terms = {}
    for weight, terms in weighted:
        for source, value in terms.items():
            total[source] = total.get(source, 0.0) + weight * value
    return total
