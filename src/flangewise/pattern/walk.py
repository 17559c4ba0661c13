"""The walk round one face of a panel: where its flat part ends at every edge, and where flanges join it.

A face has a sized ring of mould lines, counterclockwise. On each edge it ends at a line: the sized edge itself where
that is free, the tangent line `setback` inside it where a flange or the bend the face itself hangs on is. Corners are
where the lines of two edges meet; no set operation is needed. Derived here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Literal

from flangewise.geometry import Edge, Point, Vertex
from flangewise.part import WantedFlange
from flangewise.pattern.taken import FormedBend
from flangewise.records import dataclass

LEAST_SLOT_MM = 1.0


@dataclass(frozen=True)
class EndLine:
    """Where a flange ends: u = start_mm + slope v, in places of the flange."""

    start_mm: float
    slope: float

    def at_mm(self, v_mm: float) -> float:
        """u at a distance from the mould line."""
        return self.start_mm + self.slope * v_mm


@dataclass(frozen=True)
class CornerCut:
    """What is cut away at the corner of a flange's tangent line: half a square's side, or a circle's radius."""

    kind: Literal["round", "square"]
    half_mm: float


@dataclass(frozen=True)
class Hung:
    """A flange on its edge: its bend zone runs from `low_mm` to `high_mm` along it.

    `reaches`: whether it goes up to the edge's left and right corner; `beside_mm` is how much of the edge is left
    there. `ends` are the lines of the flange itself, `cuts` what is cut at either corner.
    """

    flange: WantedFlange
    taken: FormedBend
    thickness_mm: float
    low_mm: float
    high_mm: float
    reaches: tuple[bool, bool]
    beside_mm: tuple[float, float]
    ends: tuple[EndLine, EndLine] = (EndLine(0.0, 0.0), EndLine(0.0, 0.0))
    cuts: tuple[CornerCut | None, CornerCut | None] = (None, None)

    @property
    def setback_mm(self) -> float:
        """From the sized edge in to the tangent line."""
        return self.taken.allowance.leg_setback_mm

    @property
    def width_mm(self) -> float:
        """The width of its zone on the blank."""
        return self.taken.allowance.allowance_mm

    @property
    def out_mm(self) -> float:
        """From the sized edge out to the zone's outer side; a place v of the flange lies this less setback further."""
        return self.width_mm - self.setback_mm

    @property
    def slot_mm(self) -> float:
        """How wide the slot at an end beside sheet is."""
        own = self.flange.slot.width_mm
        return max(self.thickness_mm, LEAST_SLOT_MM) if own is None else own

    @property
    def deep_mm(self) -> float:
        """How far inside the sized edge a slot ends."""
        return self.setback_mm + self.flange.slot.past_mm

    def runs_out(self, end: int) -> bool:
        """Whether the slot at an end goes on to the corner, because less than the thickness would stand beside it."""
        return not self.reaches[end] and self.beside_mm[end] < self.slot_mm + self.thickness_mm

    @property
    def line_mm(self) -> tuple[float, float]:
        """Where the bend line begins and ends along the edge, what is cut at the corners left out."""
        left, right = (0.0 if cut is None else cut.half_mm for cut in self.cuts)
        return self.low_mm + left, self.high_mm - right


@dataclass(frozen=True)
class FaceEdge:
    """An edge of a face: its sized line, the bend's setback where the face hangs on it, and the flanges it carries."""

    edge: Edge
    name: str
    root_setback_mm: float | None = None
    hung: tuple[Hung, ...] = ()
    rounded_mm: float = 0.0

    def line_mm(self, end: int) -> float:
        """How far outward of the sized edge (inside: negative) the face ends at its first (0) or last (1) end."""
        if self.root_setback_mm is not None:
            return -self.root_setback_mm
        if not self.hung:
            return 0.0
        last = self.hung[-1 if end else 0]
        if last.reaches[end]:
            return -last.setback_mm
        return -last.deep_mm if last.runs_out(end) else 0.0

    def reaching(self, end: int) -> Hung | None:
        """The flange that reaches its first or last corner."""
        last = self.hung[-1 if end else 0] if self.hung else None
        return last if last is not None and last.reaches[end] else None


@dataclass(frozen=True)
class Join:
    """Where a flange hangs: between its zone's left and its right end."""

    edge: Edge
    hung: Hung


def corner_of(before: FaceEdge, edge: FaceEdge) -> Point:
    """Where the face ends at the corner between two edges."""
    met = before.edge.meets(before.line_mm(1), edge.edge, edge.line_mm(0))
    return edge.edge.at(0.0, edge.line_mm(0)) if met is None else met


def walked(edges: Sequence[FaceEdge], *, flat: bool) -> tuple[Vertex | Join, ...]:
    """Round the face from the first corner of the first edge.

    `flat`: for the face's flat part alone, which ends at tangent lines; else for the blank, where what is cut at a
    corner goes on between the zones.
    """
    beside = zip((edges[-1], *edges[:-1]), edges, strict=True)
    return tuple(item for before, edge in beside for item in _along(before, edge, flat=flat))


def _along(before: FaceEdge, edge: FaceEdge, *, flat: bool) -> Iterator[Vertex | Join]:
    """From the first corner of an edge up to, not with, its last."""
    yield from _first_corner(before, edge, flat=flat)
    at = edge.edge.at
    for place, hung in enumerate(edge.hung):
        previous = edge.hung[place - 1] if place else None
        following = edge.hung[place + 1] if place + 1 < len(edge.hung) else None
        left_mm, right_mm = hung.line_mm if flat else (hung.low_mm, hung.high_mm)
        left_cut, right_cut = hung.cuts
        if not hung.reaches[0]:
            yield from (Vertex(at(u, v)) for u, v in _slot_before(hung, previous))
        raised = 0.0 if flat or left_cut is None else left_cut.half_mm
        yield Vertex(at(left_mm, raised - hung.setback_mm))
        yield Join(edge.edge, hung)
        raised = 0.0 if flat or right_cut is None else right_cut.half_mm
        if right_cut is None:
            yield Vertex(at(right_mm, -hung.setback_mm))
        # With a cut the way goes on in the next edge's first corner.
        if not hung.reaches[1]:
            yield from (Vertex(at(u, v)) for u, v in _slot_after(hung, following))


def _slot_before(hung: Hung, previous: Hung | None) -> Iterator[Point]:
    low_mm, deep_mm = hung.low_mm, hung.deep_mm
    if previous is not None and _one_slot(previous, hung):
        deep_mm = max(deep_mm, previous.deep_mm)
    elif previous is not None or not hung.runs_out(0):
        yield low_mm - hung.slot_mm, 0.0
        yield low_mm - hung.slot_mm, -deep_mm
    yield low_mm, -deep_mm


def _slot_after(hung: Hung, following: Hung | None) -> Iterator[Point]:
    high_mm, deep_mm = hung.high_mm, hung.deep_mm
    if following is not None and _one_slot(hung, following):
        yield high_mm, -max(deep_mm, following.deep_mm)
        return
    yield high_mm, -deep_mm
    if following is not None or not hung.runs_out(1):
        yield high_mm + hung.slot_mm, -deep_mm
        yield high_mm + hung.slot_mm, 0.0


def _one_slot(one: Hung, other: Hung) -> bool:
    """Whether the slots of two neighbours are one, because less than the thickness would stand between them."""
    return other.low_mm - one.high_mm < one.slot_mm + other.slot_mm + one.thickness_mm


def _first_corner(before: FaceEdge, edge: FaceEdge, *, flat: bool) -> Iterator[Vertex]:
    reaching = edge.reaching(0)
    cut = reaching.cuts[0] if reaching is not None else None
    if cut is not None:
        yield from _cut_corner(before.edge, edge.edge, corner_of(before, edge), cut, flat=flat)
    elif edge.rounded_mm:
        yield from _rounded(before.edge, edge.edge, edge.rounded_mm)
    else:
        yield Vertex(corner_of(before, edge))


def _cut_corner(before: Edge, edge: Edge, corner: Point, cut: CornerCut, *, flat: bool) -> Iterator[Vertex]:
    """From the end of the bend before round what is cut to where the next bend begins, clockwise about the corner."""
    out, after = before.outward, edge.outward

    def at(along_out: float, along_after: float) -> Point:
        h = cut.half_mm
        return (
            corner[0] + h * (along_out * out[0] + along_after * after[0]),
            corner[1] + h * (along_out * out[1] + along_after * after[1]),
        )

    back = (-before.along[0], -before.along[1])
    begins = (corner[0] + cut.half_mm * back[0], corner[1] + cut.half_mm * back[1]) if flat else at(1, 0)
    if cut.kind == "round":
        turn = math.atan2(out[0] * after[1] - out[1] * after[0], out[0] * after[0] + out[1] * after[1])
        sweep = math.pi - turn if flat else 2 * math.pi - turn
        yield Vertex(begins, -math.tan(sweep / 4))
        return
    yield Vertex(begins)
    if not flat:
        yield Vertex(at(1, -1))
    yield Vertex(at(-1, -1))
    if not flat:
        yield Vertex(at(-1, 1))


def _rounded(before: Edge, edge: Edge, radius_mm: float) -> Iterator[Vertex]:
    (dx, dy), (ex, ey) = before.along, edge.along
    turn = math.atan2(dx * ey - dy * ex, dx * ex + dy * ey)
    reach_mm = radius_mm * abs(math.tan(turn / 2))
    yield Vertex(
        edge.at(-0.0, 0.0) if not reach_mm else before.at(before.length_mm - reach_mm, 0.0), math.tan(turn / 4)
    )
    yield Vertex(edge.at(reach_mm, 0.0))
