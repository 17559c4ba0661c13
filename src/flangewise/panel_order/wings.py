"""The two wings of a hit of a panel: every face and formed bend as solids, kept by which bends on the way are bent.

A wing has its own frame: the second axis outward from where the bend zone begins, the third up, the first square to
both, its origin over the beginning of the operation's line. In front of the tools the first axis runs along the bed
from right to left, behind them from left to right. Where a face stands in it hangs on the bends on the way alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from flangewise.clearance import Geometries, Solid, Solids, Stretches, ToolRegions, convex_rings, half_mm, shadows
from flangewise.geometry import Fold, Frame, Hinge, SpacePoints, Vector, hinge_motion
from flangewise.panel_order.operations import PanelOperation
from flangewise.pattern import PanelBlank, hinge_of
from flangewise.records import dataclass

if TYPE_CHECKING:
    from flangewise.panel_order.lying import Lies
    from flangewise.panel_order.wing_sums import WingSums

# A formed bend is drawn in pieces whose corners lie no further outside it than this.
SAGITTA_MM = 0.05


@dataclass(frozen=True)
class Branch:
    """A face of a wing: the bends between it and the wing's own bend, nearest first, and the face before it.

    `by` is the zone between these two, by the face that hangs on it; an offset has two of them, the web between.
    """

    face: int
    path: tuple[int, ...]
    above: int | None
    by: int = 0
    depth: int = 0

    def state(self, done: Iterable[int]) -> int:
        """Which bends of the path are bent: bit j for the j-th."""
        bent = frozenset(done)
        return sum(1 << at for at, bend in enumerate(self.path) if bend in bent)


class PanelShapes:
    """A panel's blank as a tree of faces, and its wings, made when first asked for; shared by all of its hits."""

    def __init__(self, blank: PanelBlank) -> None:
        """Nothing is drawn before it is asked for."""
        self.blank = blank
        # By the face that hangs on each, for an offset has two.
        self.zones = {zone.face_to: zone for zone in blank.zones}
        self.hinges = {face: hinge_of(zone) for face, zone in self.zones.items()}
        self.names = {face.number: face.name for face in blank.faces}
        self._wings: dict[tuple[int, tuple[int, ...], bool, bool], Wing] = {}
        self._plates: dict[tuple[int, float], Solids] = {}
        self._bends: dict[tuple[int, float, bool], Solids] = {}
        self._motions: dict[tuple[int, bool, bool], Frame] = {}
        # Area and centroid of faces, area and middle of the strips of bends, kept by `lying`.
        self.masses: dict[int, tuple[float, tuple[float, float]]] = {}
        self.strips: dict[tuple[int, bool], tuple[float, tuple[float, float, float]]] = {}

    def plates(self, face: int, half_mm: float) -> Solids:
        """The convex parts of a face, so thick to each side, where it lies on the blank."""
        if (face, half_mm) not in self._plates:
            outline_mm = next(each.outline_mm for each in self.blank.faces if each.number == face)
            found = []
            for ring in convex_rings(outline_mm):
                under, over = (np.column_stack([ring, np.full(len(ring), up_mm)]) for up_mm in (-half_mm, half_mm))
                found.append(Solid(under, over))
            self._plates[face, half_mm] = Solids(tuple(found))
        return self._plates[face, half_mm]

    def bend(self, zone: int, half_mm: float, *, bent: bool) -> Solids:
        """A bend, flat or bent, so thick to each side, the face it hangs on lying on the blank."""
        key = zone, half_mm, bent
        if key not in self._bends:
            hinge = self.hinges[zone]
            turn_deg, frames = hinge.turn_deg if bent else 0.0, {hinge.face_from: Frame()}
            fold = Fold(self.blank.thickness_mm, hinge.face_from, (hinge,), (turn_deg,), frames)
            length_mm = math.dist(*self.zones[zone].line_mm)
            self._bends[key] = Solids(formed(fold, length_mm, half_mm))
        return self._bends[key]

    def motion(self, zone: int, *, bent: bool, outward: bool) -> Frame:
        """From the frame of the face before a bend to that of the face after it; outward: to the one that hangs."""
        key = zone, bent, outward
        if key not in self._motions:
            hinge = self.hinges[zone]
            turn_deg = hinge.turn_deg if bent else 0.0
            motion = hinge_motion(hinge, turn_deg, thickness_mm=self.blank.thickness_mm)
            self._motions[key] = motion if outward else motion.inverse()
        return self._motions[key]

    @cached_property
    def neighbours(self) -> dict[int, list[tuple[int, int]]]:
        """For each face the faces beside it, each with the zone between."""
        found: dict[int, list[tuple[int, int]]] = {face.number: [] for face in self.blank.faces}
        for zone, hinge in self.hinges.items():
            found[hinge.face_from].append((hinge.face_to, zone))
            found[hinge.face_to].append((hinge.face_from, zone))
        return found

    @property
    def reach_mm(self) -> float:
        """No point is farther from a bend line than this, however the part is bent."""
        return sum(self.blank.size_mm)

    def let_go(self) -> None:
        """Lets go what its wings forbid to tools: their hits have kept it."""
        for wing in self._wings.values():
            wing.let_go()

    def wing(self, operation: PanelOperation, *, parent: bool) -> Wing:
        """The wing on which the operation's flanges hang, or the flanges with all that hangs on them."""
        key = operation.number, operation.bends, operation.marked_up, parent
        if key not in self._wings:
            self._wings[key] = Wing(self, operation, parent=parent)
        return self._wings[key]


class Wing:
    """One side of an operation's line."""

    def __init__(self, shapes: PanelShapes, operation: PanelOperation, *, parent: bool) -> None:
        """The side the flanges hang on (`parent`), or the flanges."""
        self.shapes = shapes
        self._stand = _stand(operation, parent=parent)
        roots = operation.parents if parent else operation.faces
        self.branches = {branch.face: branch for branch in _branches(shapes, roots, frozenset(operation.bends))}
        self._frames: dict[tuple[int, int], Frame] = {}
        self._solids: dict[tuple[int, int, float], tuple[Solid, ...]] = {}
        self._forbids: dict[tuple[ToolRegions, int, int], Stretches] = {}
        self._outlines: dict[tuple[int, int], Geometries] = {}
        self.half_zone_mm = operation.half_zone_mm
        self.lies: dict[tuple[int, int], Lies] = {}
        # Its sums over all sets of operations, kept by `way_prices` whichever tools ask for them.
        self.sums: dict[tuple[float, float, tuple[tuple[int, ...], ...], bytes | None], WingSums] = {}

    def nodes(self, done: Iterable[int]) -> list[tuple[int, int]]:
        """Every face with the state of its path, nearest first."""
        bent = frozenset(done)
        return [(face, branch.state(bent)) for face, branch in self.branches.items()]

    def frame(self, face: int, state: int) -> Frame:
        """Where a face stands with these bends of its path bent; takes points of the blank."""
        key = face, state
        if key not in self._frames:
            branch = self.branches[face]
            if branch.above is None:
                return self._stand
            before = self.frame(branch.above, self._state_above(branch, state))
            hinge, bent = self._joint(branch, state)
            outward = hinge.face_to == face
            self._frames[key] = before.after(self.shapes.motion(branch.by, bent=bent, outward=outward))
        return self._frames[key]

    def _joint(self, branch: Branch, state: int) -> tuple[Hinge, bool]:
        """The hinge that leads to a face, and whether it is bent."""
        return self.shapes.hinges[branch.by], bool(state >> (len(branch.path) - 1) & 1)

    def _state_above(self, branch: Branch, state: int) -> int:
        assert branch.above is not None
        return state & ((1 << len(self.branches[branch.above].path)) - 1)

    def is_past_web(self, face: int) -> bool:
        """Whether a face lies beyond an offset, so that its web parts it from the face before that."""
        branch = self.branches[face]
        return branch.above is not None and self.branches[branch.above].path == branch.path

    def plates(self, face: int, state: int, half_mm: float) -> tuple[Solid, ...]:
        """A face in plates so thick to each side."""
        return self.shapes.plates(face, half_mm).placed(self.frame(face, state))

    def leading(self, face: int, state: int) -> tuple[int, bool, Frame] | None:
        """The zone that leads to a face, whether it is bent, and where what it hangs on stands; None for a root."""
        branch = self.branches[face]
        if branch.above is None:
            return None
        hinge, bent = self._joint(branch, state)
        inward = hinge.face_from == face
        frame = self.frame(face, state) if inward else self.frame(branch.above, self._state_above(branch, state))
        return branch.by, bent, frame

    def bend(self, face: int, state: int, half_mm: float) -> tuple[Solid, ...]:
        """The pieces of the bend that leads to a face."""
        leads = self.leading(face, state)
        if leads is None:
            return ()
        zone, bent, frame = leads
        return self.shapes.bend(zone, half_mm, bent=bent).placed(frame)

    def corners_mm(self, face: int, state: int) -> SpacePoints:
        """The corners of a face and of the bend that leads to it, in the middle of the sheet."""
        found = self.shapes.plates(face, 0.0).corners_at(self.frame(face, state))
        leads = self.leading(face, state)
        if leads is None:
            return found
        zone, bent, frame = leads
        return np.concatenate([found, self.shapes.bend(zone, 0.0, bent=bent).corners_at(frame)])

    def solids(self, face: int, state: int, half_mm: float) -> tuple[Solid, ...]:
        """A face in plates so thick to each side, and after them the pieces of the bend that leads to it; kept."""
        key = face, state, half_mm
        if key not in self._solids:
            self._solids[key] = self.plates(face, state, half_mm) + self.bend(face, state, half_mm)
        return self._solids[key]

    def forbids(self, tools: ToolRegions, asked: Iterable[tuple[int, int]]) -> dict[tuple[int, int], Stretches]:
        """What faces in states of their paths forbid to tools, along the wing's own first axis; kept.

        Beyond a face that meets what stands along the whole bed nothing is looked at: it is fatal as well.
        """
        all_of = list(asked)
        waiting: dict[int, dict[tuple[int, int], None]] = {}
        for face, state in all_of:
            self._wanted(tools, face, state, waiting)
        half = half_mm(self.shapes.blank.thickness_mm)
        for _, level in sorted(waiting.items()):
            open_nodes = []
            for face, state in level:
                branch = self.branches[face]
                before = None if branch.above is None else (tools, branch.above, self._state_above(branch, state))
                if before is not None and self._forbids[before].fatal:
                    self._forbids[tools, face, state] = self._forbids[before]
                else:
                    open_nodes.append((face, state))
            pieces = [self.solids(face, state, half) for face, state in open_nodes]
            outlines = self._seen_along(open_nodes, pieces)
            for (face, state), answer in zip(open_nodes, tools.forbidden(pieces, outlines), strict=True):
                self._forbids[tools, face, state] = answer
        return {(face, state): self._forbids[tools, face, state] for face, state in all_of}

    def let_go(self) -> None:
        """Lets go what it forbids to tools."""
        self._forbids.clear()

    def _seen_along(self, nodes: Sequence[tuple[int, int]], pieces: Sequence[tuple[Solid, ...]]) -> list[Geometries]:
        """Of faces in states the outlines of their solids seen along the bed, kept for whichever tools ask."""
        new = [at for at, node in enumerate(nodes) if node not in self._outlines]
        solids = [solid for at in new for solid in pieces[at]]
        if solids:
            ends = np.cumsum([len(pieces[at]) for at in new])[:-1]
            self._outlines |= zip((nodes[at] for at in new), np.split(shadows(solids), ends), strict=True)
        return [self._outlines[node] for node in nodes]

    def _wanted(
        self, tools: ToolRegions, face: int, state: int, waiting: dict[int, dict[tuple[int, int], None]]
    ) -> None:
        """Puts down what is not known of a face and of those before it, by how many zones lie between."""
        branch = self.branches[face]
        if (tools, face, state) in self._forbids or (face, state) in waiting.get(branch.depth, {}):
            return
        waiting.setdefault(branch.depth, {})[face, state] = None
        if branch.above is not None:
            self._wanted(tools, branch.above, self._state_above(branch, state), waiting)


def _stand(operation: PanelOperation, *, parent: bool) -> Frame:
    """From the blank to the frame of a wing, flat."""
    dx, dy = operation.along
    (x, y), _ = operation.zones[0].line_mm
    begin = min(px * dx + py * dy for zone in operation.zones for px, py in zone.line_mm) - (x * dx + y * dy)
    side, up = -1.0 if parent else 1.0, 1.0 if operation.marked_up else -1.0
    out_x, out_y, half_mm_out = -dy * side, dx * side, operation.half_zone_mm
    rows: tuple[Vector, Vector, Vector] = (
        (out_y * up, -out_x * up, 0.0),
        (out_x, out_y, 0.0),
        (0.0, 0.0, up),
    )
    at = (x + begin * dx + half_mm_out * out_x, y + begin * dy + half_mm_out * out_y)
    first, second = (-(row[0] * at[0] + row[1] * at[1]) for row in rows[:2])
    return Frame(rows, (first, second, 0.0))


def _branches(shapes: PanelShapes, roots: Iterable[int], cut: frozenset[int]) -> Iterable[Branch]:
    """The faces that are joined to some without the bends that are cut, nearest first."""
    seen: set[int] = set()
    for root in roots:
        queue = [] if root in seen else [Branch(root, (), None)]
        seen.add(root)
        while queue:
            branch = queue.pop(0)
            yield branch
            for other, by in shapes.neighbours[branch.face]:
                bend = shapes.zones[by].bend
                if bend not in cut and other not in seen:
                    seen.add(other)
                    path = branch.path if bend in branch.path else (*branch.path, bend)
                    queue.append(Branch(other, path, branch.face, by, branch.depth + 1))


def formed(fold: Fold, length_mm: float, half_mm: float) -> tuple[Solid, ...]:
    """The bend of a fold's only hinge in convex pieces that hold it, so thick to each side of its middle.

    A piece ends square to the sheet, as the bend does; on the outside it runs along the bend's own tangents, so that
    it nowhere stands out beyond the faces beside it. Flat it is one plate.
    """
    hinge, turn_deg = fold.hinges[0], fold.turns_deg[0]
    middle_mm = hinge.radius_at_mm(turn_deg) + fold.thickness_mm / 2
    if not math.isfinite(middle_mm):
        skins = []
        for up_mm in (-half_mm, half_mm):
            near, far = (fold.arc_mm(0, axis_mm, up_mm=up_mm, chords=1) for axis_mm in (0.0, length_mm))
            skins.append(np.array([near[0], far[0], far[1], near[1]]))
        return (Solid(skins[0], skins[1]),)
    side, outer_mm = math.copysign(1.0, turn_deg), middle_mm + half_mm
    # A tangent's corner lies R (1/cos(c/2) - 1), about R c^2/8, outside the arc.
    chords = max(1, math.ceil(math.radians(abs(turn_deg)) / math.sqrt(8 * SAGITTA_MM / outer_mm)))
    corner_mm = outer_mm / math.cos(math.radians(abs(turn_deg)) / (2 * chords))
    ends = []
    for axis_mm in (0.0, length_mm):
        inner, outer = (fold.arc_mm(0, axis_mm, up_mm=up, chords=chords) for up in (side * half_mm, -side * half_mm))
        corners = fold.arc_mm(0, axis_mm, up_mm=side * (middle_mm - corner_mm), chords=2 * chords)[1::2]
        ends.append(np.stack([inner[:-1], inner[1:], outer[1:], corners, outer[:-1]], axis=1))
    return tuple(Solid(near, far) for near, far in zip(*ends, strict=True))
