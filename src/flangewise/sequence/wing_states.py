"""The wings beside a bend before its hit, by what is bent of them: of one operation, or of a lot of many."""

import itertools
from collections.abc import Sequence

import numpy as np

from flangewise.records import dataclass
from flangewise.sequence.arrays import Floats, Ints, sets_without
from flangewise.sequence.candidates import Candidate, Lot, Presentation
from flangewise.sequence.hold import developed_mm, half_span_mm
from flangewise.sequence.levels import levels_outward
from flangewise.sequence.moves import END, START
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.slack import STEP_MM, Beyond, outermost_mm, sheet_mm
from flangewise.sequence.tree import WingTree

# Of so few states in all sets are taken as they come.
FEW_STATES = 16

# What of an operation lies between its wings, in columns: from its middle to either wing, flat; the developed lengths
# in front and behind; with slack how far its shape may be off, its own strip, the flats beyond, and what is behind for
# the stops, and how much less and more sheet there may be in front and behind.
HALF, AHEAD, BACK, SHAPE, STRIP, FLATS, STOPS, AHEAD_SHORTER, AHEAD_LONGER, BACK_SHORTER, BACK_LONGER = range(11)


@dataclass(frozen=True)
class WingStates:
    """Wings in some states: `ends` and `firsts` of a tree, the leaves, and how far each may be off in steps of slack,
    `corner_mm` of it for a corner that lies outermost, and `inner_mm` besides for one that does not."""

    ends: Floats
    firsts: Ints
    leaves: Ints
    slack_steps: Ints
    corner_mm: float | Floats = 0.0
    inner_mm: float | Floats = 0.0

    def end(self, number: int) -> Floats:
        """A column of `WingTree.ends`."""
        found: Floats = self.ends[self.leaves, number]
        return found

    @property
    def slack_mm(self) -> Floats:
        """How far the wing may be off."""
        return self.slack_steps.astype(float) * STEP_MM

    @property
    def reach_steps(self) -> Ints:
        """How far it may be off, in steps, a corner between square faces included where that may reach furthest."""
        if isinstance(self.inner_mm, float) and not self.inner_mm:
            return self.slack_steps
        may_be = self.end(WingTree.JUTTING) + self.inner_mm > self.end(WingTree.REACH)
        return self.slack_steps + np.where(may_be, np.ceil(self.inner_mm / STEP_MM), 0.0).astype(np.int64)

    @property
    def further_mm(self) -> Floats:
        """How far the wing may reach further out: corners by the whole slack, faces by what is no corner's."""
        inward_mm = np.maximum(self.end(WingTree.FAR) - self.end(WingTree.CORNER), 0.0)
        further: Floats = self.slack_mm - np.minimum(self.corner_mm, inward_mm)
        return further

    def picked(self, rows: Ints) -> "WingStates":
        """Some of the states."""
        corners_mm = (each if isinstance(each, float) else each[rows] for each in (self.corner_mm, self.inner_mm))
        return WingStates(self.ends, self.firsts, self.leaves[rows], self.slack_steps[rows], *corners_mm)


def wings_together(each: Sequence[WingStates]) -> WingStates:
    """Wings of one tree after those of another."""
    corners_mm = ([wing.corner_mm for wing in each], [wing.inner_mm for wing in each])
    return WingStates(
        np.concatenate([wing.ends.take(wing.leaves, axis=0) for wing in each]),
        np.concatenate([wing.firsts.take(wing.leaves) for wing in each]),
        np.arange(sum(len(wing.leaves) for wing in each)),
        np.concatenate([wing.slack_steps for wing in each]),
        *(
            np.concatenate([np.broadcast_to(own, len(wing.leaves)) for own, wing in zip(mm, each, strict=True)])
            for mm in corners_mm
        ),
    )


@dataclass(frozen=True)
class At:
    """Parts before a hit, one an entry: the wing in front and the wing behind, and `between` them, in columns.

    One row of columns for parts of one operation, or one a part.
    """

    front: WingStates
    behind: WingStates
    between: Floats

    def picked(self, rows: Ints) -> "At":
        """Some of the parts."""
        between = self.between if self.between.ndim == 1 else self.between[rows]
        return At(self.front.picked(rows), self.behind.picked(rows), between)

    def reaches_mm(self) -> Floats:
        """How far each reaches from the bend line."""
        reach: Floats = np.maximum(self.front.end(WingTree.REACH), self.behind.end(WingTree.REACH))
        return reach


class WingsBeside:
    """The wings of a problem's operations; not to be shared between threads."""

    def __init__(self, problem: SectionProblem, trees: dict[tuple[int, bool, bool], WingTree]) -> None:
        """`trees`: the wings known so far."""
        self.problem = problem
        self.beyond = Beyond(problem)
        self._trees = trees
        self._kept_between: dict[tuple[int, int], Floats] = {}
        self._apart: dict[tuple[int, bool], tuple[WingStates, WingStates]] = {}
        self._everywhere: dict[tuple[int, bool], tuple[WingStates, WingStates]] = {}

    def tree(self, index: int, *, toward_end: bool, marked_up: bool) -> WingTree:
        """The tree of one wing of an operation."""
        key = (index, toward_end, marked_up)
        if key not in self._trees:
            operation, chain = self.problem.operations[index], self.problem.chain
            face = operation.zones[-1] + 1 if toward_end else operation.zones[0]
            levels = levels_outward(chain, self.problem.operations, index, toward_end=toward_end, marked_up=marked_up)
            half_mm = half_span_mm(self.problem, operation)
            rise_deg = min(89.0, abs(chain.turns_deg[operation.zones[0]]) / 2) if len(operation.zones) == 1 else 0.0
            self._trees[key] = WingTree(levels, chain.flats_mm[face], rise_deg=rise_deg, bend_line_mm=half_mm)
        return self._trees[key]

    def wings(self, way: Candidate | Presentation) -> tuple[WingTree, WingTree]:
        """Trees of the wing in front and the wing behind."""
        front = self.tree(way.operation, toward_end=way.behind == START, marked_up=way.marked_up)
        behind = self.tree(way.operation, toward_end=way.behind == END, marked_up=way.marked_up)
        return front, behind

    def at(self, made: Presentation, sets: Ints) -> At:
        """The wings before a hit of each set."""
        front, behind = (self._wing(made, sets, toward_end=made.behind == side) for side in (START, END))
        return At(front, behind, self.between(made))

    def at_all(self, lot: Lot) -> At:
        """The same of a lot."""
        each = [self.at(made, lot.sets[own]) for made, own in lot.each()]
        if len(each) == 1:
            return each[0]
        front, behind = wings_together([at.front for at in each]), wings_together([at.behind for at in each])
        return At(front, behind, np.repeat([at.between for at in each], lot.counts[lot.counts > 0], axis=0))

    def between(self, made: Presentation) -> Floats:
        """What of an operation lies between its wings."""
        key = made.operation, made.behind
        if key not in self._kept_between:
            problem, operation = self.problem, self.problem.operations[made.operation]
            lengths_mm = developed_mm(problem, operation)[:: -1 if made.behind == START else 1]
            found = [half_span_mm(problem, operation), *lengths_mm, *[0.0] * (BACK_LONGER - BACK)]
            if problem.slack:
                own, beyond = problem.slack[made.operation], self.beyond.of(made)
                flats_mm = sum(each.flat_mm for each in itertools.chain(*beyond))
                ends_mm = sum(max(each.flat_mm, each.formed_mm) for each in beyond[1])
                stops_mm = own.beside_mm + ends_mm + outermost_mm(beyond[1])
                off_mm = own.shape_mm, own.beside_mm, flats_mm, stops_mm, *itertools.chain(*map(sheet_mm, beyond))
                found[SHAPE:] = off_mm
            self._kept_between[key] = np.array(found)
        return self._kept_between[key]

    def _wing(self, made: Presentation, sets: Ints, *, toward_end: bool) -> WingStates:
        tree = self.tree(made.operation, toward_end=toward_end, marked_up=made.marked_up)
        leaves, beside = tree.leaves(sets), self.beyond.beside(made.operation, sets, toward_end=toward_end)
        return WingStates(tree.ends, tree.firsts, leaves, *beside)

    def near(self, made: Presentation, sets: tuple[Ints, Ints], near: int) -> tuple[WingStates, WingStates]:
        """The wing in front and the wing behind for sets of each where only the operations `near` are known of them."""
        found = []
        for tree, own, (steps, inner_mm) in zip(self.wings(made), sets, self.beyond.most(made), strict=True):
            known = sum(near >> level.operation & 1 for level in tree.levels)
            nodes = tree.nodes(own, known)
            found.append(WingStates(tree.ends, tree.firsts, nodes, np.full(len(own), steps), inner_mm=inner_mm))
        front, behind = found
        return front, behind

    def _wings_apart(self, made: Presentation) -> tuple[WingStates, WingStates]:
        """The wing toward the start in all its states, and that toward the end."""
        key = at, _ = made.operation, made.marked_up
        if key not in self._apart:
            start, end = np.arange(1 << at), np.arange(1 << (len(self.problem.operations) - at - 1)) << (at + 1)
            self._apart[key] = self._wing(made, start, toward_end=False), self._wing(made, end, toward_end=True)
        return self._apart[key]

    @property
    def _has_few_states(self) -> bool:
        """Whether taking all sets as they come is quicker than one wing after the other."""
        return 1 << len(self.problem.operations) <= 2 * FEW_STATES

    def everywhere(self, made: Presentation) -> At:
        """The wings of every set without the operation, as `sets_without` has them."""
        if self._has_few_states:
            return self.at(made, sets_without(made.operation, len(self.problem.operations)))
        if (key := (made.operation, made.marked_up)) not in self._everywhere:
            start, end = self._wings_apart(made)
            high, low = np.indices((len(end.leaves), len(start.leaves))).reshape(2, -1)
            self._everywhere[key] = start.picked(low), end.picked(high)
        first, last = self._everywhere[key]
        return At(*((last, first) if made.behind == START else (first, last)), self.between(made))
