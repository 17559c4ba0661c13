"""Wings by the bends between: what a wing looks like, kept once for every pattern of bends on it.

Whether a face meets a tool depends only on the bends between it and the active bend. A wing is therefore
a tree: the root is the face beside the active bend, a level is the next operation outward, bent or not.
A node that meets a tool settles all nodes below it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flangewise.clearance import Region
from flangewise.geometry import Chain, zone_points
from flangewise.sequence.arrays import Bools, Floats, Ints
from flangewise.sequence.problem import Operation

UNKNOWN, FREE, MEETS = 0, 1, 2
CLEAR = -1
NO_LEVEL = -1


@dataclass(frozen=True)
class Level:
    """One operation outward on a wing: its bit in the set of done operations, and its two shapes.

    A shape runs from the end of the face before to the end of the face after, heading +x at first;
    `turn_rad` is the heading at its end when bent. `bent_developed_mm`: the sheet in each piece of the bent shape.
    """

    operation: int
    flat_mm: Floats
    bent_mm: Floats
    turn_rad: float
    flange_mm: float
    bent_developed_mm: Floats


def _shape(
    chain: Chain, zones: tuple[int, ...], faces: tuple[int, ...], *, up: float, bent: bool
) -> tuple[Floats, Floats]:
    """Points of a shape, and the developed length between each two of them: a zone keeps its sheet when formed."""
    at, heading = np.zeros(2), 0.0
    points = [np.zeros((1, 2))]
    lengths: list[Floats] = []
    for zone, face in zip(zones, faces, strict=True):
        angle = up * chain.turns_deg[zone] if bent else 0.0
        piece = zone_points(chain, zone, angle_deg=angle)
        chords = np.linalg.norm(np.diff(piece, axis=0, prepend=[[0.0, 0.0]]), axis=1)
        lengths.extend((chords * (chain.zones_mm[zone] / max(chords.sum(), 1e-12)), np.array([chain.flats_mm[face]])))
        last = math.radians(angle)
        piece = np.vstack([piece, piece[-1] + chain.flats_mm[face] * np.array([math.cos(last), math.sin(last)])])
        cos, sin = math.cos(heading), math.sin(heading)
        laid = piece @ np.array([[cos, sin], [-sin, cos]]) + at
        points.append(laid)
        at, heading = laid[-1], heading + last
    whole, developed = np.vstack(points), np.concatenate(lengths)
    return (whole, developed) if bent else (whole[[0, -1]], developed.sum(keepdims=True))


def levels_outward(
    chain: Chain, operations: tuple[Operation, ...], active: int, *, toward_end: bool, marked_up: bool
) -> tuple[Level, ...]:
    """The levels of one wing of operation `active`, nearest first."""
    up = 1.0 if marked_up else -1.0
    others = range(active + 1, len(operations)) if toward_end else range(active - 1, -1, -1)
    levels = []
    for other in others:
        zones = operations[other].zones if toward_end else operations[other].zones[::-1]
        faces = tuple(zone + 1 if toward_end else zone for zone in zones)
        turn = math.radians(up * sum(chain.turns_deg[zone] for zone in zones))
        flat, _ = _shape(chain, zones, faces, up=up, bent=False)
        shape, developed = _shape(chain, zones, faces, up=up, bent=True)
        levels.append(Level(other, flat, shape, turn, chain.flats_mm[faces[-1]], developed))
    return tuple(levels)


class WingTree:
    """Grows as it is asked; not to be shared between threads.

    `ends` holds, for each node: x, y and heading of the wing's end, greatest x and y and least y so far,
    greatest height once the wing has risen by `rise_deg`, greatest x of the first bent level, the first moment of the
    sheet's developed length in x, and its greatest distance from the bend line.
    """

    X, Y, HEADING, FAR, TOP, LOW, TOP_RISEN, FIRST_FAR, MOMENT, REACH = range(10)

    def __init__(
        self, levels: tuple[Level, ...], face_mm: float, *, rise_deg: float, bend_line_mm: float = 0.0
    ) -> None:
        """A wing of one face, `face_mm` long, and the levels that follow, `bend_line_mm` out from the bend line."""
        self.levels = levels
        self._bend_line_mm = bend_line_mm
        self._rise = (math.sin(math.radians(rise_deg)), math.cos(math.radians(rise_deg)))
        self._count = 1
        self.children = np.full((16, 2), -1, dtype=np.int64)
        self.parents = np.zeros(16, dtype=np.int64)
        self.firsts = np.full(16, NO_LEVEL, dtype=np.int64)
        self.ends = np.zeros((16, 10))
        self.ends[0, [self.X, self.FAR, self.TOP_RISEN]] = [face_mm, face_mm, max(0.0, face_mm * self._rise[0])]
        self.ends[0, [self.MOMENT, self.REACH]] = [face_mm**2 / 2, face_mm + bend_line_mm]
        self._face_mm = face_mm
        self._hits: dict[int, NDArray[np.int8]] = {}
        self._regions: list[Region] = []

    def leaves(self, sets: Ints) -> Ints:
        """Leaf numbers for each set of done operations."""
        nodes = np.zeros(len(sets), dtype=np.int64)
        for depth in range(len(self.levels)):
            nodes = self._below(depth, nodes, sets)
        return nodes

    def ends_of(self, sets: Ints) -> Floats:
        """Rows of `ends` for each set."""
        leaves = self.leaves(sets)
        rows: Floats = self.ends[leaves]
        return rows

    def _below(self, depth: int, nodes: Ints, sets: Ints) -> Ints:
        """Children of nodes at a depth, as the sets have it; made where missing."""
        bits = (sets >> self.levels[depth].operation) & 1
        below = self.children[nodes, bits]
        missing = below < 0
        if missing.any():
            self._grow(depth, np.unique(nodes[missing] * 2 + bits[missing]))
            below = self.children[nodes, bits]
        result: Ints = below
        return result

    def _grow(self, depth: int, wanted: Ints) -> None:
        nodes = np.arange(self._count, self._count + len(wanted))
        self._reserve(self._count + len(wanted))
        self._count += len(wanted)
        parents, bits = wanted >> 1, wanted & 1
        self.children[parents, bits] = nodes
        self.parents[nodes] = parents
        for bit in (0, 1):
            chosen = bits == bit
            if chosen.any():
                self._measure(depth, nodes[chosen], parents[chosen], bent=bool(bit))

    def _reserve(self, size: int) -> None:
        if size <= len(self.parents):
            return
        more = max(size, 2 * len(self.parents)) - len(self.parents)
        self.children = np.vstack([self.children, np.full((more, 2), -1, dtype=np.int64)])
        self.parents = np.concatenate([self.parents, np.zeros(more, dtype=np.int64)])
        self.firsts = np.concatenate([self.firsts, np.full(more, NO_LEVEL, dtype=np.int64)])
        self.ends = np.vstack([self.ends, np.zeros((more, 10))])
        for key, hits in self._hits.items():
            self._hits[key] = np.concatenate([hits, np.zeros(more, dtype=np.int8)])

    def _points(self, depth: int, parents: Ints, *, bent: bool) -> Floats:
        shape = self.levels[depth].bent_mm if bent else self.levels[depth].flat_mm
        cos, sin = np.cos(self.ends[parents, self.HEADING]), np.sin(self.ends[parents, self.HEADING])
        across = cos[:, None] * shape[None, :, 0] - sin[:, None] * shape[None, :, 1]
        upward = sin[:, None] * shape[None, :, 0] + cos[:, None] * shape[None, :, 1]
        at = self.ends[parents, : self.HEADING]
        result: Floats = np.stack([across, upward], axis=2) + at[:, None, :]
        return result

    def _measure(self, depth: int, nodes: Ints, parents: Ints, *, bent: bool) -> None:
        points = self._points(depth, parents, bent=bent)
        above = self.ends[parents]
        ends = np.empty((len(nodes), 10))
        ends[:, self.X], ends[:, self.Y] = points[:, -1, 0], points[:, -1, 1]
        ends[:, self.HEADING] = above[:, self.HEADING] + (self.levels[depth].turn_rad if bent else 0.0)
        ends[:, self.FAR] = np.maximum(above[:, self.FAR], points[:, :, 0].max(axis=1))
        ends[:, self.TOP] = np.maximum(above[:, self.TOP], points[:, :, 1].max(axis=1))
        ends[:, self.LOW] = np.minimum(above[:, self.LOW], points[:, :, 1].min(axis=1))
        risen = (points[:, :, 0] * self._rise[0] + points[:, :, 1] * self._rise[1]).max(axis=1)
        ends[:, self.TOP_RISEN] = np.maximum(above[:, self.TOP_RISEN], risen)
        first = self.firsts[parents] == NO_LEVEL
        self.firsts[nodes] = np.where(first & bent, depth, self.firsts[parents])
        ends[:, self.FIRST_FAR] = np.where(first & bent, points[:, :, 0].max(axis=1), above[:, self.FIRST_FAR])
        middles = (points[:, 1:, 0] + points[:, :-1, 0]) / 2
        level = self.levels[depth]
        sheet = level.bent_developed_mm if bent else level.bent_developed_mm.sum(keepdims=True)
        ends[:, self.MOMENT] = above[:, self.MOMENT] + middles @ sheet
        far = np.hypot(points[:, :, 0] + self._bend_line_mm, points[:, :, 1]).max(axis=1)
        ends[:, self.REACH] = np.maximum(above[:, self.REACH], far)
        self.ends[nodes] = ends

    def meets(self, sets: Ints, region: Region) -> Bools:
        """For each set: does the wing meet the region."""
        met: Bools = self.first_meeting(sets, region) != CLEAR
        return met

    def first_meeting(self, sets: Ints, region: Region) -> Ints:
        """For each set: how many levels out the wing first meets the region, `CLEAR` where it does not.

        What lies beyond a meeting is neither drawn nor tested.
        """
        found = np.full(len(sets), CLEAR, dtype=np.int64)
        if self._meets_at_root(region):
            found[:] = 0
            return found
        rows, nodes = np.arange(len(sets)), np.zeros(len(sets), dtype=np.int64)
        for depth in range(len(self.levels)):
            nodes = self._below(depth, nodes, sets[rows])
            met = self._settled(depth, nodes, region) == MEETS
            if met.any():
                found[rows[met]] = depth + 1
                rows, nodes = rows[~met], nodes[~met]
            if not len(rows):
                break
        return found

    def _known(self, region: Region) -> NDArray[np.int8]:
        known = self._hits.get(id(region))
        if known is None:
            known = self._hits[id(region)] = np.zeros(len(self.parents), dtype=np.int8)
            self._regions.append(region)
        return known

    def _meets_at_root(self, region: Region) -> bool:
        known = self._known(region)
        if known[0] == UNKNOWN:
            root = np.array([[[0.0, 0.0], [self._face_mm, 0.0]]])
            known[0] = MEETS if region.meets(root)[0] else FREE
        return bool(known[0] == MEETS)

    def _settled(self, depth: int, nodes: Ints, region: Region) -> NDArray[np.int8]:
        known = self._known(region)
        states = known[nodes]
        unknown = states == UNKNOWN
        if unknown.any():
            self._test(depth, np.unique(nodes[unknown]), known, region)
            states = known[nodes]
        return states

    def _test(self, depth: int, nodes: Ints, known: NDArray[np.int8], region: Region) -> None:
        parents = self.parents[nodes]
        bent = self.children[parents, 1] == nodes
        for state in (False, True):
            chosen = bent == state
            if chosen.any():
                met = region.meets(self._points(depth, parents[chosen], bent=state))
                known[nodes[chosen]] = np.where(met, MEETS, FREE)
