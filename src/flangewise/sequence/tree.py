"""Wings by the bends between: what a wing looks like, kept once for every pattern of bends on it.

Whether a face meets a tool depends only on the bends between it and the active bend. A wing is therefore
a tree: the root is the face beside the active bend, a level is the next operation outward, bent or not.
A node that meets a tool settles all nodes below it.
"""

import math
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flangewise.clearance import Bits, Forbidden, Geometries, OneByOne, lines_of
from flangewise.geometry import Chain, zone_points
from flangewise.records import dataclass
from flangewise.sequence.arrays import Bools, Floats, Ints, distinct
from flangewise.sequence.problem import Operation

# What is known of a node and a region; with CLEAR nothing that may follow outward can reach the region.
UNKNOWN, FREE, MEETS, CLEAR = 0, 1, 2, 3
NO_LEVEL = -1
# Leaves are looked up by the bends on the wing up to so many of them; beyond, each time by walking outward.
MOST_BITS = 22
# Of so few leaves all that leads to them is asked at once: many questions at once are cheap.
MOST_AT_ONCE = 128


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
    sheet's developed length in x, its greatest distance from the bend line, greatest x of a formed corner, and the
    corners of its own piece's box.
    """

    X, Y, HEADING, FAR, TOP, LOW, TOP_RISEN, FIRST_FAR, MOMENT, REACH, CORNER, LEAST, MOST, COLUMNS = (
        *range(12),
        13,
        15,
    )

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
        self.depths = np.zeros(16, dtype=np.int64)
        self.ends = np.zeros((16, self.COLUMNS))
        self.ends[0, [self.X, self.FAR, self.TOP_RISEN]] = [face_mm, face_mm, max(0.0, face_mm * self._rise[0])]
        self.ends[0, [self.MOMENT, self.REACH, self.MOST]] = [face_mm**2 / 2, face_mm + bend_line_mm, face_mm]
        self.ends[0, self.CORNER] = -math.inf
        # The piece of each node as a line, drawn when first held against a region.
        self._lines, self._is_drawn = np.full(16, None, dtype=object), np.zeros(16, dtype=bool)
        self._is_drawn[0], self._lines[0] = True, lines_of(np.array([[[0.0, 0.0], [face_mm, 0.0]]]))[0]
        self._hits: dict[int, NDArray[np.int8]] = {}
        self._regions: list[Forbidden] = []
        self._struck: dict[int, tuple[Bits, OneByOne[Any]]] = {}
        self._is_struck_known: dict[int, Bools] = {}
        own = sorted(level.operation for level in levels)
        self._first, self._bits = own[0] if own else 0, (1 << len(own)) - 1
        self._leaves = np.full(1 << len(own), -1, dtype=np.int32) if len(own) <= MOST_BITS else None

    def leaves(self, sets: Ints) -> Ints:
        """Leaf numbers for each set of done operations: a wing depends only on the operations on it."""
        if self._leaves is None:
            return self._walked(sets)
        states = (sets >> self._first) & self._bits
        leaves = self._leaves[states]
        missing = leaves < 0
        if missing.any():
            new = distinct(states[missing])
            self._leaves[new] = self._walked(new << self._first)
            leaves = self._leaves[states]
        found: Ints = leaves.astype(np.int64)
        return found

    def _walked(self, sets: Ints) -> Ints:
        return self.nodes(sets, len(self.levels))

    def nodes(self, sets: Ints, levels: int) -> Ints:
        """Where the sets have come to so many levels out; what lies further out is not known of them."""
        nodes = np.zeros(len(sets), dtype=np.int64)
        for depth in range(levels):
            nodes = self._below(depth, nodes, sets)
        return nodes

    def _below(self, depth: int, nodes: Ints, sets: Ints) -> Ints:
        """Children of nodes at a depth, as the sets have it; made where missing."""
        bits = (sets >> self.levels[depth].operation) & 1
        below = self.children[nodes, bits]
        missing = below < 0
        if missing.any():
            self._grow(depth, distinct(nodes[missing] * 2 + bits[missing]))
            below = self.children[nodes, bits]
        result: Ints = below
        return result

    def _grow(self, depth: int, wanted: Ints) -> None:
        nodes = np.arange(self._count, self._count + len(wanted))
        self._reserve(self._count + len(wanted))
        self._count += len(wanted)
        parents, bits = wanted >> 1, wanted & 1
        self.children[parents, bits] = nodes
        self.parents[nodes], self.depths[nodes] = parents, depth + 1
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
        self.depths = np.concatenate([self.depths, np.zeros(more, dtype=np.int64)])
        self.ends = np.vstack([self.ends, np.zeros((more, self.COLUMNS))])
        self._lines = np.concatenate([self._lines, np.full(more, None, dtype=object)])
        self._is_drawn = np.concatenate([self._is_drawn, np.zeros(more, dtype=bool)])
        for key, hits in self._hits.items():
            self._hits[key] = np.concatenate([hits, np.zeros(more, dtype=np.int8)])
        for key, (struck, choices) in self._struck.items():
            self._struck[key] = np.concatenate([struck, np.zeros((more, struck.shape[1]), dtype=np.uint8)]), choices
            self._is_struck_known[key] = np.concatenate([self._is_struck_known[key], np.zeros(more, dtype=bool)])

    def _placed(self, shape: Floats, parents: Ints) -> Floats:
        """A shape at the end of each node: (nodes, points, 2)."""
        shape = shape[None]
        cos, sin = np.cos(self.ends[parents, self.HEADING]), np.sin(self.ends[parents, self.HEADING])
        across = cos[:, None] * shape[:, :, 0] - sin[:, None] * shape[:, :, 1]
        upward = sin[:, None] * shape[:, :, 0] + cos[:, None] * shape[:, :, 1]
        at = self.ends[parents, : self.HEADING]
        result: Floats = np.stack([across, upward], axis=2) + at[:, None, :]
        return result

    def _measure(self, depth: int, nodes: Ints, parents: Ints, *, bent: bool) -> None:
        level, above = self.levels[depth], self.ends[parents]
        points = self._placed(level.bent_mm if bent else level.flat_mm, parents)
        ends = np.empty((len(nodes), self.COLUMNS))
        ends[:, self.X], ends[:, self.Y] = points[:, -1, 0], points[:, -1, 1]
        ends[:, self.HEADING] = above[:, self.HEADING] + (level.turn_rad if bent else 0.0)
        ends[:, self.FAR] = np.maximum(above[:, self.FAR], points[:, :, 0].max(axis=1))
        ends[:, self.TOP] = np.maximum(above[:, self.TOP], points[:, :, 1].max(axis=1))
        ends[:, self.LOW] = np.minimum(above[:, self.LOW], points[:, :, 1].min(axis=1))
        risen = (points[:, :, 0] * self._rise[0] + points[:, :, 1] * self._rise[1]).max(axis=1)
        ends[:, self.TOP_RISEN] = np.maximum(above[:, self.TOP_RISEN], risen)
        first = self.firsts[parents] == NO_LEVEL
        self.firsts[nodes] = np.where(first & bent, depth, self.firsts[parents])
        ends[:, self.FIRST_FAR] = np.where(first & bent, points[:, :, 0].max(axis=1), above[:, self.FIRST_FAR])
        middles = (points[:, 1:, 0] + points[:, :-1, 0]) / 2
        sheet = level.bent_developed_mm if bent else level.bent_developed_mm.sum(keepdims=True)
        ends[:, self.MOMENT] = above[:, self.MOMENT] + middles @ sheet
        far = np.hypot(points[:, :, 0] + self._bend_line_mm, points[:, :, 1]).max(axis=1)
        ends[:, self.REACH] = np.maximum(above[:, self.REACH], far)
        corner = points[:, :-1, 0].max(axis=1) if bent else -math.inf
        ends[:, self.CORNER] = np.maximum(above[:, self.CORNER], corner)
        ends[:, self.LEAST : self.MOST], ends[:, self.MOST :] = points.min(axis=1), points.max(axis=1)
        self.ends[nodes] = ends

    def meets(self, sets: Ints, *regions: Forbidden) -> Bools:
        """For each set: does the wing meet any of the regions."""
        leaves, every = self.leaves(sets), [self._known(region) for region in regions]
        known = np.array([each[leaves] for each in every]).reshape(len(every), len(leaves))
        met: Bools = (known == MEETS).any(axis=0)
        for nth in np.flatnonzero((known == UNKNOWN).any(axis=1)):
            asked = leaves[~met & (known[nth] == UNKNOWN)]
            if len(asked):
                self._settle(distinct(asked), every[nth], regions[nth])
                met |= every[nth][leaves] == MEETS
        return met

    def struck(self, sets: Ints, choices: OneByOne[Any], levels: int) -> Bits:
        """With which choices of tools wings meet a body, so many levels out: (sets, bits of choices).

        What strikes with every choice settles all that lies further out.
        """
        leaves = self.leaves(sets) if levels == len(self.levels) else self.nodes(sets, levels)
        if id(choices) not in self._struck:
            self._struck[id(choices)] = np.zeros((len(self.parents), len(choices.all)), dtype=np.uint8), choices
            self._is_struck_known[id(choices)] = np.arange(len(self.parents)) == 0
            if choices.looks_beside_bend:
                self._struck[id(choices)][0][0] = choices.struck(self._lines[:1])[0]
        struck, is_known = self._struck[id(choices)][0], self._is_struck_known[id(choices)]
        for nodes in self._above(distinct(leaves))[1:]:
            asked = distinct(nodes[~is_known[nodes]])
            if len(asked):
                found = struck[self.parents[asked]]
                left = np.flatnonzero((found != choices.all).any(axis=1))
                found[left] |= choices.struck(self._drawn(asked[left]))
                struck[asked], is_known[asked] = found, True
        every: Bits = struck[leaves]
        return every

    def first_meeting(self, done: int, *regions: Forbidden) -> int | None:
        """How many levels out the wing of one set first meets any of the regions; None where it does not."""
        met = [region for region in regions if self.meets(np.array([done]), region)[0]]
        way = self._above(self.leaves(np.array([done])))
        depths = (depth for depth, nodes in enumerate(way) if any(self._known(each)[nodes[0]] == MEETS for each in met))
        return next(depths, None)

    def _above(self, leaves: Ints) -> list[Ints]:
        """The nodes on the way from the root to each leaf, level by level."""
        nodes = [leaves]
        for _ in self.levels:
            nodes.append(self.parents[nodes[-1]])
        return nodes[::-1]

    def _settle(self, leaves: Ints, known: NDArray[np.int8], region: Forbidden) -> None:
        """Few leaves with all that leads to them at once. Of many level by level outward: a node that meets settles all
        leaves below it, so does one that nothing can follow from to the region."""
        way = self._above(leaves)
        if len(leaves) <= MOST_AT_ONCE:
            nodes = distinct(np.concatenate(way))
            nodes = nodes[known[nodes] == UNKNOWN]
            known[nodes] = np.where(self._meeting(nodes, region), MEETS, FREE)
            met = (known[np.array(way)] == MEETS).any(axis=0)
            known[leaves[met]] = MEETS
            return
        rows = np.arange(len(leaves))
        for depth, nodes in enumerate(way):
            states = known[nodes[rows]]
            missing = states == UNKNOWN
            if missing.any():
                self._test(depth, distinct(nodes[rows[missing]]), known, region)
                states = known[nodes[rows]]
            for settled in (MEETS, CLEAR):
                known[leaves[rows[states == settled]]] = MEETS if settled == MEETS else FREE
            rows = rows[states == FREE]
            if not len(rows):
                return

    def _known(self, region: Forbidden) -> NDArray[np.int8]:
        known = self._hits.get(id(region))
        if known is None:
            known = self._hits[id(region)] = np.zeros(len(self.parents), dtype=np.int8)
            self._regions.append(region)
        return known

    def _meeting(self, nodes: Ints, region: Forbidden) -> Bools:
        """Which nodes meet a region themselves: those whose boxes do are asked by their lines."""
        low, high = region.box_mm
        boxes = self.ends[nodes, self.LEAST :]
        near: Bools = np.all((boxes[:, :2] <= high) & (boxes[:, 2:] >= low), axis=1)
        if not region.looks_beside_bend:
            near &= nodes > 0
        inside = np.flatnonzero(near)
        if len(inside):
            near[inside] = region.strikes(self._drawn(nodes[inside]))
        return near

    def _drawn(self, nodes: Ints) -> Geometries:
        """The pieces of nodes as lines."""
        missing = nodes[~self._is_drawn[nodes]]
        if len(missing):
            depths, self._is_drawn[missing] = self.depths[missing], True
            for depth in distinct(depths):
                here, level = missing[depths == depth], self.levels[depth - 1]
                parents = self.parents[here]
                bent = self.children[parents, 1] == here
                for own, shape in ((here[bent], level.bent_mm), (here[~bent], level.flat_mm)):
                    if len(own):
                        self._lines[own] = lines_of(self._placed(shape, self.parents[own]))
        found: Geometries = self._lines[nodes]
        return found

    def _test(self, depth: int, nodes: Ints, known: NDArray[np.int8], region: Forbidden) -> None:
        """Make known whether nodes meet the region, `depth` levels out."""
        known[nodes] = np.where(self._meeting(nodes, region), MEETS, FREE)
        if depth < len(self.levels):
            low, high = region.box_mm
            far_mm, ends = self._beyond_mm[depth], self.ends[nodes, : self.HEADING]
            away = ((ends - far_mm > high) | (ends + far_mm < low)).any(axis=1)
            known[nodes[away & (known[nodes] == FREE)]] = CLEAR

    @cached_property
    def _beyond_mm(self) -> list[float]:
        """How far from the end of a node anything that follows may lie at most, by how many levels out it is."""
        far_mm = [0.0]
        for level in self.levels[::-1]:
            points = np.vstack([level.flat_mm, level.bent_mm])
            ends = np.vstack([level.flat_mm[-1:], level.bent_mm[-1:]])
            far_mm.append(max(_length_mm(points), _length_mm(ends) + far_mm[-1]))
        return far_mm[::-1]


def _length_mm(points_mm: Floats) -> float:
    """How far the farthest of points lies from the origin."""
    return float(np.hypot(points_mm[:, 0], points_mm[:, 1]).max())
