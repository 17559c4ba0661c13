"""What the sizes of a panel may be off by through gauging: the datum tree in two directions, over all of its faces.

A size is a sum of the sources at its two ends (`panel_order.datum`); worst case adds them, the statistical figure their
squares. Derived here, as `sequence.datum`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from flangewise.bend import linear_tolerance_mm
from flangewise.findings import place
from flangewise.geometry import Edge, Point, edges_of
from flangewise.panel_order import PanelStep, Source, SourceTerms, cut_edge, line_terms, offset_mm, summed
from flangewise.part import BASE, BASE_FACE, Panel, PanelPart
from flangewise.pattern import BendZone, FlatFace, PanelBlank
from flangewise.records import dataclass
from flangewise.sequence import Tolerances
from flangewise.setup.step import Correction
from flangewise.words import Phrase

NOTHING = 1e-9
# A size that follows a stop by less than this share is corrected badly by it.
WELL = 0.5
# Edges and lines are of one direction to within this.
SAME_DEG = 0.05


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
    """The error of the base over its outermost edges and of every flange's height, under the gauging of a plan.

    Of a drawn blank, which is cut as it is drawn whatever its finished sizes are, none.
    """
    if not isinstance(part.panel, Panel):
        return ()
    lines = line_terms(blank, steps)
    found = []
    for face, name, edges, nominal_mm, terms in _sizes(part.panel, blank, lines):
        own = [abs(value) * tolerances.of((source[0], 0)) for source, value in terms.items()]
        kept = tuple((source, value) for source, value in terms.items() if abs(value) > NOTHING)
        likely_mm = math.sqrt(sum(each * each for each in own))
        allowed_mm = _allowed_mm(part, name, nominal_mm)
        bends = _ends_of(part.panel, face, edges)
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


def _ends_of(panel: Panel, face: int, edges: tuple[str, ...]) -> tuple[int, ...]:
    """The bends that end a size."""
    if edges:
        return tuple(flange.bend.number for flange in panel.flanges if flange.edge in edges)
    flange = next(each for each in panel.all_flanges() if each.number == face)
    return (flange.bend.number, *(each.bend.number for each in flange.flanges if each.edge == "tip"))


def _allowed_mm(part: PanelPart, name: str, nominal_mm: float) -> float | None:
    told = part.tolerances
    if name in told.faces_mm:
        return told.faces_mm[name]
    return told.legs_mm[0] if told.legs_mm is not None else linear_tolerance_mm(nominal_mm)


def _sizes(
    panel: Panel, blank: PanelBlank, lines: Mapping[int, SourceTerms]
) -> Iterator[tuple[int, str, tuple[str, ...], float, SourceTerms]]:
    """Face, name, the edges it is taken over, nominal size and sources of every size."""
    faces = {face.number: face for face in blank.faces}
    yield from _base_sizes(panel, blank, lines)
    for flange in panel.all_flanges():
        zone = next(each for each in blank.joints if each.bend == flange.bend.number)
        dx, dy = zone.line_mm[1][0] - zone.line_mm[0][0], zone.line_mm[1][1] - zone.line_mm[0][1]
        out = (-dy / math.hypot(dx, dy), dx / math.hypot(dx, dy))
        tips = [each for each in blank.joints if each.face_from == zone.face_to and _is_line_along(each, out)]
        own = summed([(-1.0, lines[zone.bend]), (1.0, {("half-deduction", zone.bend): 1.0})])
        ends = [_end_at(each, out, lines) for each in tips] or [_free_end(blank, faces[zone.face_to], out)]
        yield zone.face_to, flange.face, (), flange.tip_mm, summed([(1.0, own), (1.0, _widest(ends))])


def size_names(part: PanelPart) -> tuple[str, ...]:
    """How the sizes of a panel are named, in their order: the base over its edges, then every flange."""
    if not isinstance(part.panel, Panel):
        return ()
    base = ("/".join(name for name, _, _ in ends) for ends in _base_ends(part.panel))
    return (*base, *(flange.face for flange in part.panel.all_flanges()))


def _base_sizes(
    panel: Panel, blank: PanelBlank, lines: Mapping[int, SourceTerms]
) -> Iterator[tuple[int, str, tuple[str, ...], float, SourceTerms]]:
    for ends in _base_ends(panel):
        (one, first, way), (other, second, back) = ends
        size_mm = offset_mm(first, way) + offset_mm(second, back)
        terms = summed((1.0, _base_end(panel, blank, name, way, lines)) for name, _, way in ends)
        yield BASE_FACE, BASE, (one, other), size_mm, terms


def _base_ends(panel: Panel) -> Iterator[list[tuple[str, Edge, Point]]]:
    """The outermost two edges of the base in each direction that edges end on both sides, with the way out of each."""
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
                name, far = max(same, key=lambda each: offset_mm(each[1], way))
                ends.append((name, far, way))
        if len(ends) == 2:
            yield ends


def _base_end(panel: Panel, blank: PanelBlank, name: str, way: Point, lines: Mapping[int, SourceTerms]) -> SourceTerms:
    bends = [flange.bend.number for flange in panel.flanges if flange.edge == name]
    base = next(face for face in blank.faces if face.number == BASE_FACE)
    if not bends:
        return _free_end(blank, base, way)
    return _widest([_end_at(zone, way, lines) for zone in blank.joints if zone.bend in bends])


def _end_at(zone: BendZone, way: Point, lines: Mapping[int, SourceTerms]) -> SourceTerms:
    """How far out along `way` a size ends at a bend: its line, and half its deduction."""
    (x, y), (to_x, to_y) = zone.line_mm
    length = math.dist(*zone.line_mm)
    side = ((y - to_y) * way[0] + (to_x - x) * way[1]) / length
    return summed([(side, lines[zone.bend]), (1.0, {("half-deduction", zone.bend): 1.0})])


def _free_end(blank: PanelBlank, face: FlatFace, way: Point) -> SourceTerms:
    """How far out along `way` a size ends at the cut edge furthest there."""
    edges = [edge for edge in edges_of(face.outline_mm) if _points(edge.outward, way)]
    if not edges:
        return {}
    return cut_edge(blank, max(edges, key=lambda edge: offset_mm(edge, way)))


def _points(outward: Point, way: Point) -> bool:
    return outward[0] * way[0] + outward[1] * way[1] >= math.cos(math.radians(SAME_DEG))


def _is_line_along(zone: BendZone, out: Point) -> bool:
    (x, y), (to_x, to_y) = zone.line_mm
    return abs((to_x - x) * out[0] + (to_y - y) * out[1]) <= math.dist(*zone.line_mm) * math.sin(math.radians(SAME_DEG))


def _widest(ends: Sequence[SourceTerms]) -> SourceTerms:
    """Of several ends of one size the one with the most sources."""
    return max(ends, key=lambda terms: sum(abs(value) for value in terms.values()))
