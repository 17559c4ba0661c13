"""What the strokes of a step take, for the opening and the reach of the part, by the state of the wings beside it.

On a problem with slack it is the least on any of the blanks.
"""

import itertools
from collections.abc import Sequence

import numpy as np

from flangewise.records import dataclass
from flangewise.sequence.arrays import Floats, Ints, alike_in, distinct, sets_without
from flangewise.sequence.candidates import Candidate, Lot, Presentation
from flangewise.sequence.hold import developed_mm, half_span_mm
from flangewise.sequence.moves import END, START
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.slack import STEP_MM, Beyond, sheet_mm
from flangewise.sequence.tree import NO_LEVEL, WingTree, levels_outward

# Of so few states in all sets are taken as they come.
FEW_STATES = 16
# Of so few strokes it is not looked which are alike.
FEW_STROKES = 2048


# What of an operation lies between its wings, in columns: from its middle to either wing, flat; the developed lengths
# in front and behind; with slack how far its shape may be off, its own strip, the flats beyond, and how much less and
# more sheet there may be in front and behind.
HALF, AHEAD, BACK, SHAPE, STRIP, FLATS, AHEAD_SHORTER, AHEAD_LONGER, BACK_SHORTER, BACK_LONGER = range(10)


@dataclass(frozen=True)
class WingStates:
    """Wings in some states: `ends` and `firsts` of a tree, the leaves, and how far each may be off in steps of slack,
    `corner_mm` of it for a corner that lies outermost."""

    ends: Floats
    firsts: Ints
    leaves: Ints
    slack_steps: Ints
    corner_mm: float | Floats = 0.0

    def end(self, number: int) -> Floats:
        """A column of `WingTree.ends`."""
        found: Floats = self.ends[self.leaves, number]
        return found

    @property
    def slack_mm(self) -> Floats:
        """How far the wing may be off."""
        return self.slack_steps.astype(float) * STEP_MM

    @property
    def further_mm(self) -> Floats:
        """How far the wing may reach further out: corners by the whole slack, faces by what is no corner's."""
        inward_mm = np.maximum(self.end(WingTree.FAR) - self.end(WingTree.CORNER), 0.0)
        further: Floats = self.slack_mm - np.minimum(self.corner_mm, inward_mm)
        return further

    def picked(self, rows: Ints) -> "WingStates":
        """Some of the states."""
        corner_mm = self.corner_mm if isinstance(self.corner_mm, float) else self.corner_mm[rows]
        return WingStates(self.ends, self.firsts, self.leaves[rows], self.slack_steps[rows], corner_mm)


def _wings_together(each: Sequence[WingStates]) -> WingStates:
    """Wings of one tree after those of another."""
    return WingStates(
        np.concatenate([wing.ends.take(wing.leaves, axis=0) for wing in each]),
        np.concatenate([wing.firsts.take(wing.leaves) for wing in each]),
        np.arange(sum(len(wing.leaves) for wing in each)),
        np.concatenate([wing.slack_steps for wing in each]),
        np.repeat([wing.corner_mm for wing in each], [len(wing.leaves) for wing in each]),
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


class StrokePrices:
    """Seconds of the strokes by set, as if no tool were in the way; not to be shared between threads."""

    def __init__(self, problem: SectionProblem, trees: dict[tuple[int, bool, bool], WingTree]) -> None:
        """`trees`: the wings known so far."""
        self.problem = problem
        self._trees = trees
        self.beyond = Beyond(problem)
        # Bends that are still to be asked for with the other end behind.
        self._bent_turned: dict[tuple[int, bool, bytes], Floats] = {}
        self._slips: dict[Presentation, tuple[Floats, Floats]] = {}
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
        return At(front, behind, self._between(made))

    def at_all(self, lot: Lot) -> At:
        """The same of a lot."""
        each = [self.at(made, lot.sets[own]) for made, own in lot.each()]
        if len(each) == 1:
            return each[0]
        front, behind = _wings_together([at.front for at in each]), _wings_together([at.behind for at in each])
        return At(front, behind, np.repeat([at.between for at in each], lot.counts[lot.counts > 0], axis=0))

    def _between(self, made: Presentation) -> Floats:
        """What of an operation lies between its wings."""
        key = made.operation, made.behind
        if key not in self._kept_between:
            problem, operation = self.problem, self.problem.operations[made.operation]
            lengths_mm = developed_mm(problem, operation)[:: -1 if made.behind == START else 1]
            found = [half_span_mm(problem, operation), *lengths_mm, *[0.0] * (BACK_LONGER - BACK)]
            if problem.slack:
                own, beyond = problem.slack[made.operation], self.beyond.of(made)
                flats_mm = sum(each.flat_mm for each in itertools.chain(*beyond))
                off_mm = own.shape_mm, own.beside_mm, flats_mm, *itertools.chain(*map(sheet_mm, beyond))
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
        for tree, own, most in zip(self.wings(made), sets, self.beyond.most_steps(made), strict=True):
            known = sum(near >> level.operation & 1 for level in tree.levels)
            nodes = tree.nodes(own, known)
            found.append(WingStates(tree.ends, tree.firsts, nodes, np.full(len(own), most)))
        front, behind = found
        return front, behind

    def least_strokes_s(self, made: Presentation, front: WingStates, behind: WingStates) -> Floats:
        """Seconds of the strokes at least, for wings that are known near the bend: (states in front, states behind).

        What lies further out may stand up more, hang lower and reach further, never less; in front there is room. Ways
        down and back and the bend are each the least of any of the choices of tools.
        """
        some, between = made.apart, self._between(made)
        at = At(front.picked(np.zeros(len(behind.leaves), dtype=np.int64)), behind, between)
        opened_s = least_of(self.least_opened_s(some, at, np.full(len(behind.leaves), np.inf)))
        off_mm = self._off_mm(some, front.slack_mm[:1] + behind.slack_mm[:1], between) if self.problem.slack else 0.0
        bent_s = []
        for wing in (front, behind):
            reach_mm = np.broadcast_to(wing.end(WingTree.REACH) - off_mm, (len(some.options), len(wing.leaves)))
            bent_s.append(self.problem.costs.share * least_of(some.strokes.bent_beyond_s(np.maximum(reach_mm, 0.0))))
        seconds: Floats = opened_s + np.maximum(bent_s[0][:, None], bent_s[1])
        return seconds

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
        return At(*((last, first) if made.behind == START else (first, last)), self._between(made))

    def strokes_s(self, made: Presentation, at: At) -> Floats:
        """Seconds of the strokes for a straight pull, or less where sliding the part off might take less.

        Ways down and back depend on what is behind and whether the gripper fits in front, the bend on the reach: each
        is reckoned once for all parts that are alike in it.
        """
        if not made.strokes.groups:
            return np.zeros((len(made.options), len(at.front.leaves)))
        if len(made.options) * len(at.front.leaves) <= FEW_STROKES:
            return self.least_opened_s(made, at) + self._bent_s(made, at)
        beside = np.searchsorted(made.strokes.gripper_reaches_mm, self.fronts_mm(made, at), side="right")
        first, alike = alike_in(at.behind.leaves, at.front.slack_steps, beside)
        opened = self.least_opened_s(made, at.picked(first)).take(alike, axis=1)
        in_front = at.front.end(WingTree.REACH) >= at.behind.end(WingTree.REACH)
        furthest = np.where(in_front, 2 * at.front.leaves, 2 * at.behind.leaves + 1)
        first, alike = alike_in(furthest, at.front.slack_steps + at.behind.slack_steps)
        seconds: Floats = opened + self._bent_s(made, at.picked(first)).take(alike, axis=1)
        return seconds

    def all_strokes_s(self, made: Presentation) -> Floats:
        """The same for every set without the operation; of many one wing after the other."""
        if len(made.options) << (len(self.problem.operations) - 1) <= FEW_STROKES:
            return self.strokes_s(made, self.everywhere(made))
        start, end = self._wings_apart(made)
        high, low = np.indices((len(end.leaves), len(start.leaves))).reshape(2, -1)
        if not made.strokes.groups:
            return np.zeros((len(made.options), len(high)))
        wings = (end, high), (start, low)
        opened = self._opened_apart(made, *(wings if made.behind == START else wings[::-1]))
        seconds: Floats = opened + self._bent_apart(made, *wings)
        return seconds

    def _opened_apart(
        self, made: Presentation, ahead: tuple[WingStates, Ints], back: tuple[WingStates, Ints]
    ) -> Floats:
        """Ways down and back, by choice of tools, for some of the states of the wing in front and that behind."""
        (front, of_front), (behind, of_behind) = ahead, back
        slack_mm: Floats = distinct(behind.slack_steps)[:, None].astype(float) * STEP_MM
        between = self._between(made)
        fronts_mm = self._far_mm(made, front, between, slack_mm=slack_mm)
        beside = np.searchsorted(made.strokes.gripper_reaches_mm, np.atleast_2d(fronts_mm), side="right")
        first, alike = alike_in(front.slack_steps, *(each for each in beside if each.min() < each.max()))
        rows, count = np.arange(len(first) * len(behind.leaves)), len(behind.leaves)
        opened = self.least_opened_s(made, At(front.picked(first[rows // count]), behind.picked(rows % count), between))
        return opened.take(alike[of_front] * count + of_behind, axis=1)

    def _bent_apart(self, made: Presentation, *wings: tuple[WingStates, Ints]) -> Floats:
        """The bends, by choice of tools, for some of the states of either wing; the same with either end behind."""
        key = made.operation, made.marked_up, made.options.tobytes()
        if key in self._bent_turned:
            return self._bent_turned.pop(key)
        reach_mm, off_mm, columns = list[Floats](), list[Floats](), list[Ints]()
        for (own, of_own), (other, of_other) in (wings, wings[::-1]):
            steps = distinct(other.slack_steps)
            reach_mm.append(np.repeat(own.end(WingTree.REACH), len(steps)))
            off_mm.append((own.slack_steps[:, None] + steps).ravel().astype(float) * STEP_MM)
            columns.append(of_own * len(steps) + steps.searchsorted(other.slack_steps)[of_other])
        every = np.concatenate(reach_mm), np.concatenate(off_mm)
        bent = self.problem.costs.share * self._bent_at(made, *every, self._between(made))
        one, other_mm = (each[column] for each, column in zip(reach_mm, columns, strict=True))
        self._bent_turned[key] = bent.take(np.where(one >= other_mm, columns[0], len(reach_mm[0]) + columns[1]), axis=1)
        return self._bent_turned[key]

    def least_opened_s(self, made: Presentation, at: At, fronts_mm: Floats | None = None) -> Floats:
        """The same for a straight pull, or less where sliding the part off might take less.

        `fronts_mm`: how far it is known to reach out.
        """
        fronts_mm = self.fronts_mm(made, at) if fronts_mm is None else fronts_mm
        pulls_mm = self._at_best_mm(made, at, self.straight_pulls_mm(made, at))
        if not self.problem.side_exit_allowed:
            return self.problem.costs.share * made.strokes.opened_s(pulls_mm, fronts_mm)
        pulled_s = self.problem.costs.share * made.strokes.opened_s(pulls_mm, fronts_mm)
        least: Floats = np.minimum(pulled_s, self._slid_s(made, fronts_mm))
        return least

    def _slid_s(self, made: Presentation, fronts_mm: Floats) -> Floats:
        """The same for a part that is slid off along the bed over the sheet alone, that included."""
        sheet_mm, costs = self.problem.chain.thickness_mm, self.problem.costs
        return costs.side_exit + costs.share * made.strokes.over_sheet_s(sheet_mm, fronts_mm)

    def slid_more_s(self, made: Presentation, at: At) -> Floats:
        """What strokes take more than the least they may where the part is slid off along the bed."""
        if not made.strokes.groups:
            return np.full((len(made.options), len(at.front.leaves)), self.problem.costs.side_exit)
        slid_s = self._slid_s(made, self.fronts_mm(made, at))
        more_s: Floats = np.maximum(slid_s - self.least_opened_s(made, at), 0.0)
        return more_s

    def opened_s(self, made: Presentation, at: At, least_mm: Floats) -> Floats:
        """Seconds of the ways down and back for openings, the handler's share included: (choices of tools, parts)."""
        least_mm = self._at_best_mm(made, at, least_mm)
        return self.problem.costs.share * made.strokes.opened_s(least_mm, self.fronts_mm(made, at))

    def _at_best_mm(self, made: Presentation, at: At, least_mm: Floats) -> Floats:
        """Openings at least, with slack: where the part stands up, hangs down and bends, each may be off."""
        if not self.problem.slack:
            return least_mm
        off_mm = self._off_mm(made, at.front.slack_mm + at.behind.slack_mm, at.between)
        found: Floats = np.maximum(least_mm - 3 * off_mm, self.problem.chain.thickness_mm)
        return found

    def _bent_s(self, made: Presentation, at: At) -> Floats:
        """Seconds of the bends."""
        off_mm = at.front.slack_mm + at.behind.slack_mm
        return self.problem.costs.share * self._bent_at(made, at.reaches_mm(), off_mm, at.between)

    def _bent_at(self, made: Presentation, reach_mm: Floats, off_mm: Floats, between: Floats) -> Floats:
        """Seconds of the bends for reaches, with what both wings may be off.

        How fast the end of the part comes up falls with its reach until it is as slow as the ram, and then rises.
        """
        if not self.problem.slack:
            return made.strokes.bent_s(reach_mm)
        off = self._off_mm(made, off_mm, between)
        nearer, further = (made.strokes.bent_s(np.maximum(reach_mm + by, 0.0)) for by in (-off, off))
        least: Floats = np.minimum(nearer, further)
        return least

    def _off_mm(self, made: Presentation, wings_mm: Floats, between: Floats) -> Floats:
        """How far the part may be off in all, with slack, for what both wings may be."""
        off: Floats = wings_mm + np.abs(made.moved_mm) + between[..., SHAPE]
        return off

    def fronts_mm(self, made: Presentation, at: At) -> Floats:
        """How far the part reaches out in front of the die's centre plane before the hit; with slack, at most."""
        return self._far_mm(made, at.front, at.between, slack_mm=at.behind.slack_mm)

    def _far_mm(self, made: Presentation, front: WingStates, between: Floats, *, slack_mm: float | Floats) -> Floats:
        """The same, where the wing behind may be off by so much."""
        fronts: Floats = front.end(WingTree.FAR) + between[..., HALF]
        if not self.problem.slack:
            return fronts
        moved_mm = np.abs(made.moved_mm).max()
        off: Floats = front.slack_mm + slack_mm + moved_mm + between[..., SHAPE]
        return fronts + off

    def straight_pulls_mm(self, made: Presentation, at: At) -> Floats:
        """Opening with which the part comes straight out to the front: what stands up behind, over what hangs behind.

        For each choice of tools and part.

        What hangs in front hangs before the die block and comes away as it is. A wing behind without bends slips out
        along its own slope as soon as the bend has come over the die block's front edge: under the nose it is then
        e tan(a) + t/cos(a) high, with the half turn a and the edge e in front of the centre plane, and the nose's own
        arc adds at most r (1/cos(a) - 1); or it needs what it rises by, if that is less (plane geometry, derived here).
        Without a die block none of this is known, and what is found is less than with any.
        """
        behind = at.behind
        plain = behind.firsts[behind.leaves] == NO_LEVEL
        low = -np.minimum(0.0, behind.end(WingTree.LOW))
        nose, slips = self._slipping_mm(made)
        risen = np.maximum(behind.end(WingTree.TOP), behind.end(WingTree.TOP_RISEN)) + nose
        risen[:, plain] = np.minimum(risen[:, plain], slips)
        pulled: Floats = np.maximum(0.0, risen) + low + self.problem.chain.thickness_mm
        return pulled

    def _slipping_mm(self, made: Presentation) -> tuple[Floats, Floats]:
        """By each choice of tools: what the nose's own arc adds, and what slipping out along the slope needs."""
        if made not in self._slips:
            chain, half = self.problem.chain, np.radians(made.half_turns_deg)
            thickness = chain.thickness_mm
            radius = max(0.0, chain.radii_mm[self.problem.operations[made.operation].zones[0]])
            slope = np.maximum(made.edges_mm[1], 0.0, where=~made.bare, out=np.zeros_like(half)) * np.tan(half)
            slips = slope + (thickness + radius) * (1 / np.cos(half) - 1)
            nose = (radius + thickness / 2) * (1 - np.cos(half))
            self._slips[made] = np.where(made.bare, 0.0, nose), np.where(made.bare, 0.0, slips)
        return self._slips[made]


def least_of(seconds: Floats) -> Floats:
    """The least of rows."""
    least: Floats = seconds[0] if len(seconds) == 1 else seconds.min(axis=0)
    return least
