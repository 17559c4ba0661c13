"""Wings by the bends between: what a wing looks like, kept once for every pattern of bends on it.

Whether a face meets a tool depends only on the bends between it and the active bend. A wing is therefore
a tree: the root is the face beside the active bend, a level is the next operation outward, bent or not.
A node that meets a tool settles all nodes below it.
"""

import math
from collections.abc import Sequence
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flangewise.clearance import Bits, Forbidden, Geometries, InEachWay, lines_of
from flangewise.sequence.arrays import Bools, Floats, Ints, distinct
from flangewise.sequence.levels import Level

# What is known of a node's own piece, or a leaf's whole wing, and a region.
UNKNOWN, FREE, MEETS = 0, 1, 2
NO_LEVEL = -1
# Up to so many bends on a wing nodes are looked up in an array; beyond, one by one.
MOST_BITS = 22
# Of so few leaves the whole way is drawn at once; of more so many levels at once.
FEW_GROWN, MOST_GROWN = 64, 4


class WingTree:
    """Grows as it is asked; not to be shared between threads.

    A node is so many levels outward with what is bent of them: its id is in binary a one and what is bent, its number
    tells where all that is known of it is kept. `ends` holds, for each: x, y and heading of the wing's end, greatest x
    and y and least y so far, greatest height once the wing has risen by `rise_deg`, greatest x of the first bent level,
    the first moment of the sheet's developed length in x, its greatest distance from the bend line, greatest x of a
    formed corner, greatest distance of one that juts out, and the corners of its own piece's box.
    """

    X, Y, HEADING, FAR, TOP, LOW, TOP_RISEN, FIRST_FAR, MOMENT, REACH, CORNER, JUTTING, LEAST = range(13)
    MOST, COLUMNS = LEAST + 2, LEAST + 4

    def __init__(
        self, levels: tuple[Level, ...], face_mm: float, *, rise_deg: float, bend_line_mm: float = 0.0
    ) -> None:
        """A wing of one face, `face_mm` long, and the levels that follow, `bend_line_mm` out from the bend line."""
        self.levels = levels
        self._bend_line_mm = bend_line_mm
        self._rise = (math.sin(math.radians(rise_deg)), math.cos(math.radians(rise_deg)))
        self._count = 1
        self._ids = np.ones(16, dtype=np.int64)
        self.parents = np.zeros(16, dtype=np.int64)
        self.firsts = np.full(16, NO_LEVEL, dtype=np.int64)
        # What of `_shapes` is laid down last.
        self._pieces = np.zeros(16, dtype=np.int64)
        self.ends = np.zeros((16, self.COLUMNS))
        self.ends[0, [self.X, self.FAR, self.TOP_RISEN]] = [face_mm, face_mm, max(0.0, face_mm * self._rise[0])]
        self.ends[0, [self.MOMENT, self.REACH, self.MOST]] = [face_mm**2 / 2, face_mm + bend_line_mm, face_mm]
        self.ends[0, [self.CORNER, self.JUTTING]] = -math.inf
        # The piece of each node as a line, drawn when first held against a region.
        self._lines, self._is_drawn = np.full(16, None, dtype=object), np.zeros(16, dtype=bool)
        self._is_drawn[0], self._lines[:1] = True, lines_of(np.array([[[0.0, 0.0], [face_mm, 0.0]]]))
        # Of each region, by its identity, what is known of each node.
        self._rows, self._regions = dict[int, int](), list[Forbidden]()
        self._hits: NDArray[np.int8] = np.zeros((8, 16), dtype=np.int8)
        self._boxes_mm = np.zeros((8, 2, 2))
        self._struck: dict[int, tuple[Bits, InEachWay]] = {}
        self._is_struck_known: dict[int, Bools] = {}
        own, count = [level.operation for level in levels], len(levels)
        self._first, self._bits = min(own, default=0), (1 << count) - 1
        # The bits of a set that stand for each level, and how many lower ones are of levels further out.
        self._places = np.array(own, dtype=np.int64) - self._first
        self._beyond = np.array([count - near if own != sorted(own) else 0 for near in range(count + 1)])
        self._numbers = np.zeros(2 << count, dtype=np.int32) if count <= MOST_BITS else None
        self._numbers_of_many: dict[int, int] = {}

    @cached_property
    def _shapes(self) -> tuple[Floats, Floats, Floats]:
        """Corners, the sheet between them, and turns of each level, flat and bent: (pieces, 2, corners), ...

        Shapes of few corners begin with the first of them several times.
        """
        most = max(len(level.bent_mm) for level in self.levels)
        corners = np.zeros((2 * len(self.levels), 2, most))
        sheet, turns = list[Floats](), list[float]()
        for level in self.levels:
            flat_mm = level.bent_developed_mm.sum(keepdims=True)
            for shape, developed_mm in ((level.flat_mm, flat_mm), (level.bent_mm, level.bent_developed_mm)):
                corners[len(sheet)] = np.vstack([np.repeat(shape[:1], most - len(shape), axis=0), shape]).T
                sheet.append(np.concatenate([np.zeros(most - len(shape)), developed_mm]))
            turns += [0.0, level.turn_rad]
        return corners, np.array(sheet), np.array(turns)

    @cached_property
    def _corners_mm(self) -> Floats:
        """Of each piece, how far along its faces would meet in a corner; none where it is flat."""
        return np.array([along for level in self.levels for along in (0.0, level.corner_mm)])

    def leaves(self, sets: Ints) -> Ints:
        """Leaf numbers for each set of done operations: a wing depends only on the operations on it."""
        return self.nodes(sets, len(self.levels))

    def nodes(self, sets: Ints, levels: int) -> Ints:
        """Where the sets have come to so many levels out; what lies further out is not known of them."""
        return self._nodes((sets >> self._first) & self._bits, levels)

    def _nodes(self, states: Ints, levels: int) -> Ints:
        found = self._numbered(ids := self._id(states, levels))
        if levels and not found.all():
            self._grow(distinct(ids[found == 0]), levels)
            found = self._numbered(ids)
        return found

    def _id(self, states: Ints, levels: int | Ints) -> Ints:
        return np.asarray((1 << levels) | ((states >> self._beyond[levels]) & ((1 << levels) - 1)))

    def _numbered(self, ids: Ints) -> Ints:
        """The numbers of ids, 0 for those that are not known, and for the root."""
        if self._numbers is not None:
            return self._numbers[ids].astype(np.int64)
        known = self._numbers_of_many
        return np.array([known.get(each, 0) for each in ids.ravel().tolist()], dtype=np.int64).reshape(ids.shape)

    def _grow(self, wanted: Ints, levels: int) -> None:
        """Make nodes of a level by their ids, and what is missing on the way to them, from level to level at once."""
        states = (wanted - (1 << levels)) << self._beyond[levels]
        if len(states) > FEW_GROWN and levels > MOST_GROWN:
            # Of many most of the way is the same.
            self._nodes(states, levels - MOST_GROWN)
        ids = self._id(states[:, None], np.arange(levels + 1))
        numbers = self._numbered(ids)
        depth = int((numbers[:, 1:] == 0).any(axis=0).argmax())
        missing = np.flatnonzero(numbers[:, depth + 1 :] == 0)
        rows, at = np.divmod(missing, levels - depth)
        new, which = np.unique(ids[rows, depth + 1 + at], return_index=True)
        rows, at = rows[which], at[which]
        nodes = np.arange(self._count, self._count + len(new))
        self._reserve(self._count + len(new))
        self._count += len(new)
        if self._numbers is not None:
            self._numbers[new] = nodes
        else:
            self._numbers_of_many.update(zip(new.tolist(), nodes.tolist(), strict=True))
        pieces = 2 * np.arange(depth, levels) + (states[:, None] >> self._places[depth:levels] & 1)
        ends, firsts = self._measured(depth, numbers[:, depth], pieces)
        self._ids[nodes], self._pieces[nodes] = new, pieces[rows, at]
        self.parents[nodes] = self._numbered(ids[rows, depth + at])
        self.ends[nodes], self.firsts[nodes] = ends[rows, at], firsts[rows, at]

    def _reserve(self, size: int) -> None:
        if size <= len(self.parents):
            return
        more = max(size, 2 * len(self.parents)) - len(self.parents)
        filled = {"firsts": NO_LEVEL, "_lines": None}
        for name in ("_ids", "parents", "firsts", "_pieces", "ends", "_lines", "_is_drawn"):
            setattr(self, name, _longer(getattr(self, name), more, filled.get(name, 0)))
        self._hits = np.hstack([self._hits, np.zeros((len(self._hits), more), dtype=np.int8)])
        for key, (struck, choices) in self._struck.items():
            self._struck[key] = _longer(struck, more, 0), choices
            self._is_struck_known[key] = _longer(self._is_struck_known[key], more, False)

    def _placed(self, pieces: Ints, x: Floats, y: Floats, heading: Floats) -> tuple[Floats, Floats]:
        """Across and up of the corners of pieces that begin there: (..., corners) both."""
        corners = self._shapes[0][pieces]
        cos, sin = np.cos(heading)[..., None], np.sin(heading)[..., None]
        across = cos * corners[..., 0, :] - sin * corners[..., 1, :]
        upward = sin * corners[..., 0, :] + cos * corners[..., 1, :]
        return across + x[..., None], upward + y[..., None]

    def _measured(self, depth: int, nodes: Ints, pieces: Ints) -> tuple[Floats, Ints]:
        """`ends` and the first level bent of what follows on nodes: (nodes, levels, columns), (nodes, levels)."""
        _, sheet, turns = self._shapes
        ends = np.empty((len(nodes), pieces.shape[1] + 1, self.COLUMNS))
        ends[:, 0] = self.ends[nodes]
        ends[:, 1:, self.HEADING] = turns[pieces]
        heading = np.cumsum(ends[:, :, self.HEADING], axis=1)
        none = np.zeros(pieces.shape)
        across, upward = self._placed(pieces, none, none, heading[:, :-1])
        ends[:, 1:, self.X], ends[:, 1:, self.Y] = across[..., -1], upward[..., -1]
        ends[:, :, : self.HEADING] = np.cumsum(ends[:, :, : self.HEADING], axis=1)
        ends[:, :, self.HEADING] = heading
        x, y = across + ends[:, :-1, self.X, None], upward + ends[:, :-1, self.Y, None]
        far_mm, own, is_bent = x.max(axis=2), ends[:, 1:], (pieces & 1).astype(bool)
        own[:, :, self.FAR], own[:, :, self.TOP], own[:, :, self.LOW] = far_mm, y.max(axis=2), y.min(axis=2)
        own[:, :, self.LEAST], own[:, :, self.LEAST + 1] = x.min(axis=2), own[:, :, self.LOW]
        own[:, :, self.MOST], own[:, :, self.MOST + 1] = far_mm, own[:, :, self.TOP]
        own[:, :, self.TOP_RISEN] = (x * self._rise[0] + y * self._rise[1]).max(axis=2)
        reach_mm = np.hypot(x + self._bend_line_mm, y)
        own[:, :, self.REACH] = reach_mm.max(axis=2)
        own[:, :, self.CORNER] = np.where(is_bent, x[:, :, :-1].max(axis=2), -math.inf)
        # The distance of what lies between a sharp corner and the ends of its faces is none beyond theirs.
        begins, along_mm = ends[:, :-1], self._corners_mm[pieces]
        sharp_x = begins[:, :, self.X] + self._bend_line_mm + along_mm * np.cos(heading[:, :-1])
        sharp_mm = np.hypot(sharp_x, begins[:, :, self.Y] + along_mm * np.sin(heading[:, :-1]))
        own[:, :, self.JUTTING] = np.where(sharp_mm > reach_mm[:, :, -1], reach_mm[:, :, :-1].max(axis=2), -math.inf)
        own[:, :, self.MOMENT] = ((x[:, :, 1:] + x[:, :, :-1]) / 2 * sheet[pieces]).sum(axis=2)
        for column in (self.FAR, self.TOP, self.TOP_RISEN, self.REACH, self.CORNER, self.JUTTING):
            np.maximum.accumulate(ends[:, :, column], axis=1, out=ends[:, :, column])
        np.minimum.accumulate(ends[:, :, self.LOW], axis=1, out=ends[:, :, self.LOW])
        np.cumsum(ends[:, :, self.MOMENT], axis=1, out=ends[:, :, self.MOMENT])
        # Levels are numbered on from `depth`; one that is bent before stands for all that follow.
        before, none_yet = self.firsts[nodes][:, None], depth + pieces.shape[1]
        firsts = np.minimum.accumulate(np.where(is_bent, np.arange(depth, none_yet), none_yet), axis=1)
        here = np.take_along_axis(far_mm, np.minimum(firsts - depth, pieces.shape[1] - 1), axis=1)
        is_here = (before == NO_LEVEL) & (firsts < none_yet)
        own[:, :, self.FIRST_FAR] = np.where(is_here, here, ends[:, :1, self.FIRST_FAR])
        return own, np.where(is_here, firsts, before)

    def meets(self, sets: Ints, *regions: Forbidden) -> Bools:
        """For each set: does the wing meet any of the regions."""
        return self.meets_at(self.leaves(sets), self.rows_of(regions))

    def meets_at(self, leaves: Ints, rows: Ints) -> Bools:
        """The same by leaves, and by the rows of regions."""
        known = self._hits[rows, leaves]
        met: Bools = (known == MEETS).any(axis=0)
        asked = ~met & (known == UNKNOWN).any(axis=0)
        met[asked] = self.meets_each(leaves[asked], rows).any(axis=0) if asked.any() else False
        return met

    def meets_each(self, leaves: Ints, rows: Ints) -> Bools:
        """Which of the regions each wing meets: (regions, leaves)."""
        if len(asked := leaves[(self._hits[rows, leaves] == UNKNOWN).any(axis=0)]):
            self._settle(distinct(asked), rows)
        met: Bools = self._hits[rows, leaves] == MEETS
        return met

    def struck(self, sets: Ints, choices: InEachWay, levels: int) -> Bits:
        """With which choices of tools wings surely meet a body, so many levels out: (sets, bits of choices).

        The face beside the bend is not looked at. What strikes with every choice settles all that lies further out.
        """
        leaves = self.nodes(sets, levels)
        if id(choices) not in self._struck:
            self._struck[id(choices)] = np.zeros((len(self.parents), len(choices.all)), dtype=np.uint8), choices
            self._is_struck_known[id(choices)] = np.arange(len(self.parents)) == 0
        struck, is_known = self._struck[id(choices)][0], self._is_struck_known[id(choices)]
        for nodes in self._way(distinct(leaves[~is_known[leaves]]), levels)[1:]:
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
        sets = np.array([done])
        met, way = self.rows_of([each for each in regions if self.meets(sets, each)[0]]), self._way(self.leaves(sets))
        depths = np.flatnonzero((self._hits[met, way[:, 0]] == MEETS).any(axis=0))
        return int(depths[0]) if len(depths) else None

    def _way(self, nodes: Ints, levels: int | None = None) -> Ints:
        """The nodes on the way from the root to others so many levels out, to leaves else: (levels and root, nodes)."""
        levels = len(self.levels) if levels is None else levels
        states = (self._ids[nodes] - (1 << levels)) << self._beyond[levels]
        return self._numbered(self._id(states[:, None], np.arange(levels + 1)).T)

    def _settle(self, leaves: Ints, rows: Ints) -> None:
        """Make known whether wings meet regions: of all on the way to them those whose boxes do are asked by lines."""
        way = self._way(leaves)
        nodes = distinct(way.ravel())
        known, boxes = self._hits[rows, nodes], self.ends[nodes, self.LEAST :]
        low, high = self._boxes_mm[rows, 0], self._boxes_mm[rows, 1]
        is_new = known == UNKNOWN
        near = is_new & ((boxes[:, :2] <= high) & (boxes[:, 2:] >= low)).all(axis=2)
        known[is_new] = FREE
        for nth in np.flatnonzero(near.any(axis=1)):
            region, inside = self._regions[rows[nth, 0]], np.flatnonzero(near[nth])
            if not region.looks_beside_bend and not nodes[inside[0]]:
                inside = inside[1:]
            if len(inside):
                known[nth, inside] = np.where(region.strikes(self._drawn(nodes[inside])), MEETS, FREE)
        self._hits[rows, nodes] = known
        is_met = (self._hits[rows[:, :, None], way] == MEETS).any(axis=1)
        self._hits[rows, leaves] = np.where(is_met, MEETS, FREE)

    def rows_of(self, regions: Sequence[Forbidden]) -> Ints:
        """Where what is known of regions is kept: (regions, 1)."""
        for region in regions:
            if id(region) not in self._rows:
                row = self._rows[id(region)] = len(self._regions)
                self._regions.append(region)
                if row == len(self._hits):
                    self._hits, self._boxes_mm = (_longer(each, row, 0) for each in (self._hits, self._boxes_mm))
                self._boxes_mm[row] = region.box_mm
        return np.array([self._rows[id(region)] for region in regions], dtype=np.int64)[:, None]

    def _drawn(self, nodes: Ints) -> Geometries:
        """The pieces of nodes as lines."""
        missing = nodes[~self._is_drawn[nodes]]
        if len(missing):
            x, y, heading = self.ends[self.parents[missing], : self.HEADING + 1].T
            placed = self._placed(self._pieces[missing], x, y, heading)
            self._lines[missing], self._is_drawn[missing] = lines_of(np.stack(placed, axis=-1)), True
        found: Geometries = self._lines[nodes]
        return found


def _longer(known: NDArray[Any], more: int, filled: object) -> NDArray[Any]:
    """An array with room for more rows."""
    found: NDArray[Any] = np.concatenate([known, np.full((more, *known.shape[1:]), filled, dtype=known.dtype)])
    return found
