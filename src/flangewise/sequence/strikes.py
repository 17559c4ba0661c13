"""What the tools are in the way of: asked of the wings beside each bend, by what is bent of them."""

import itertools
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from flangewise.clearance import Forbidden, Region, Shrunk, shrunk_machine
from flangewise.sequence.arrays import Bools, Floats, Ints, distinct, without
from flangewise.sequence.candidates import Candidate, Pose, Presentation
from flangewise.sequence.problem import Hit, SectionProblem
from flangewise.sequence.regions import Shapes, Sides
from flangewise.sequence.step_prices import StepPrices
from flangewise.sequence.tree import FREE, MEETS, UNKNOWN, WingTree

# From so many choices of tools on it is worth knowing what stands in the way with all of them.
MANY_OPTIONS = 4


class StrikeTable(StepPrices):
    """Which steps tools are in the way of, by set; not to be shared between threads."""

    def __init__(self, problem: SectionProblem, shapes: Shapes, *, each_held: bool = False) -> None:
        """Shapes are worked out when first asked for and kept; `each_held`: of few operations each choice of tools is
        priced by itself in a bound that knows of tools in the way."""
        self.shapes = shapes
        super().__init__(problem, shapes.wings.trees)
        self.regions = shapes.wings.regions
        self.is_each_apart = self._has_few_states and each_held
        # There, by pose: whether a wing meets what is in its way with each choice, in each set without the operation.
        self._met: dict[Pose, NDArray[np.int8]] = {}
        self._sides: dict[tuple[int, int, int | None], tuple[Sides, ...]] = {}
        # By way: what a wing must keep clear of, the one in front or the one behind, as its tree knows it.
        self._avoided: dict[Candidate, tuple[tuple[int, Ints], ...]] = {}
        # By pose and its tools: what each wing must keep clear of with all of them, as its tree knows it.
        self._in_all: dict[tuple[Pose, bytes], tuple[Ints, ...]] = {}
        # The same with some of them, and with which.
        self._with_each: dict[tuple[Pose, bytes], tuple[tuple[Ints, Floats], ...]] = {}

    def sides(self, way: Candidate) -> tuple[Sides, ...]:
        """Regions of every hit of a way; of what swings they are the same with either end behind."""
        operation, hits = self.problem.operations[way.operation], self.option(way).hits
        key = way.operation, way.option, None if all(hit.kind == "swing" for hit in hits) else way.behind
        if key not in self._sides:
            self._sides[key] = tuple(self.regions.of(operation, hit, behind=way.behind) for hit in hits)
        return self._sides[key]

    def strikes(self, way: Candidate, sets: Ints) -> Bools:
        """For each set of operations done before: does a wing meet a tool in any hit.

        Where each choice of tools is held apart, every set is asked once.
        """
        if not self.is_each_apart:
            return self._strikes(way, self._wings_of(way, sets))
        if (pose := (way.operation, way.marked_up, way.behind)) not in self._met:
            shape = len(self.problem.operations[way.operation].options), 1 << (len(self.problem.operations) - 1)
            self._met[pose] = np.full(shape, UNKNOWN, dtype=np.int8)
        known, states = self._met[pose][way.option], without(way.operation, sets)
        asked = known[states] == UNKNOWN
        if asked.any():
            struck = self._strikes(way, self._wings_of(way, sets[asked]))
            known[states[asked]] = np.where(struck, MEETS, FREE)
        met: Bools = known[states] == MEETS
        return met

    def _wings_of(self, way: Candidate | Presentation, sets: Ints) -> Ints:
        """The leaves of the wing in front and of that behind: (2, sets)."""
        return np.array([tree.leaves(sets) for tree in self.wings(way)])

    def _strikes(self, way: Candidate, leaves: Ints) -> Bools:
        if way not in self._avoided:
            each = itertools.chain.from_iterable(map(enumerate, self.in_way_of(way)))
            self._avoided[way] = tuple((side, self.wings(way)[side].rows_of(regions)) for side, regions in each)
        struck = np.zeros(leaves.shape[1], dtype=bool)
        for side, rows in self._avoided[way]:
            if len(rows) and len(free := np.flatnonzero(~struck)):
                struck[free] = self.wings(way)[side].meets_at(leaves[side, free], rows)
        return struck

    def shut(self, made: Presentation, sets: Ints) -> Bools:
        """For each set of operations done before: does a wing meet a tool with every one of the choices of tools.

        Most that is free is so with the first of them; of the rest most is settled by what all have in common, and what
        is left is asked of all.
        """
        struck, wings = np.zeros(len(sets), dtype=bool), self._wings_of(made, sets)
        left = np.flatnonzero(self._strikes(made.candidate(int(np.argmin(made.own_s[:, 0]))), wings))
        struck[left] = surely = self._surely_shut(made, wings[:, left])
        left = left[~surely]
        if len(left):
            struck[left] = self._shut_with_each(made, wings[:, left])
        return struck

    def _shut_with_each(self, made: Presentation, wings: Ints) -> Bools:
        """The same by the wings' leaves, asked of all the choices at once."""
        key = made.pose, made.options.tobytes()
        if key not in self._with_each:
            ways = [tuple(self.in_way_of(made.candidate(row))) for row in range(len(made.options))]
            self._with_each[key] = tuple(
                _rows_with_each(tree, [list(itertools.chain(*(hit[side] for hit in hits))) for hits in ways])
                for side, tree in enumerate(self.wings(made))
            )
        struck = np.zeros((len(made.options), wings.shape[1]), dtype=bool)
        for tree, leaves, (rows, own) in zip(self.wings(made), wings, self._with_each[key], strict=True):
            np.logical_or(struck, own @ tree.meets_each(leaves, rows) > 0, out=struck)
        shut: Bools = np.all(struck, axis=0)
        return shut

    def more_for_tools(self, made: Presentation, sets: Ints) -> Floats:
        """What a step takes more than `least_steps` for tools in the way: nothing, or no end where each of them is.

        Where each choice is priced by itself it takes what the cheapest one does that no wing meets: the cheapest are
        asked first, and none once one is free.
        """
        if not self.is_each_apart:
            # What a dearer choice costs by itself is added to such a bound elsewhere, and would be twice.
            return np.where(self.shut(made, sets), np.inf, 0.0)
        each_s = made.own_s + self.made_s(made, sets)
        ranked, left = np.argsort(each_s, axis=0, kind="stable"), np.arange(len(sets))
        free_s = np.full(len(sets), np.inf)
        for nth, rows in enumerate(ranked):
            if nth == 1:
                left = left[~self._surely_shut(made, self._wings_of(made, sets[left]))]
            for row in distinct(rows[left]):
                asked = left[rows[left] == row]
                free = asked[~self.strikes(made.candidate(int(row)), sets[asked])]
                free_s[free] = each_s[row, free]
            left = left[np.isinf(free_s[left])]
            if not len(left):
                break
        more_s: Floats = free_s - (made.own_s.min() + self.made_s(made, sets).min(axis=0))
        return more_s

    def take_over(self, wide: "StrikeTable", options: Sequence[Sequence[int]]) -> None:
        """What is met on all blanks of a problem with these and more: `options` are the choices there, in this order.

        A wing that meets a tool wherever other blanks put it does so wherever some of them do.
        """
        for pose, known in wide._met.items():
            self._met[pose] = np.where(known[list(options[pose[0]])] == MEETS, MEETS, UNKNOWN).astype(np.int8)

    def share(self, other: "StrikeTable") -> None:
        """Know what a table of the same question at other costs knows, and let it know what is found here."""
        self._met = other._met

    def _surely_shut(self, made: Presentation, leaves: Ints) -> Bools:
        """Does a wing meet what with every choice of tools stands in its way: most that is shut, asked at once."""
        struck = np.zeros(leaves.shape[1], dtype=bool)
        if len(made.options) < MANY_OPTIONS:
            return struck
        key = made.pose, made.options.tobytes()
        if key not in self._in_all:
            each = self.in_way_of_all([made.candidate(row) for row in range(len(made.options))])
            self._in_all[key] = tuple(tree.rows_of(own) for tree, own in zip(self.wings(made), each, strict=False))
        for tree, own, rows in zip(self.wings(made), leaves, self._in_all[key], strict=False):
            free = np.flatnonzero(~struck)
            struck[free] = tree.meets_at(own[free], rows)
        return struck

    def in_way_of_all(self, ways: Sequence[Candidate]) -> tuple[tuple[Shrunk, ...], ...]:
        """What stands in the way of the wing in front, and of that behind, with every choice of tools, of swings.

        `ways`: of one pose.
        """
        hits = [self.option(way).hits[0] for way in ways]
        if any(hit.kind != "swing" for hit in hits):
            return ()
        moved_mm = [hit.leg_moved_mm for hit in hits]
        slack_mm = [sum(each.shape_mm for each in beyond) for beyond in self.beyond.of(ways[0])]
        sides = [self.sides(way)[0] for way in ways]
        return tuple(
            shrunk_machine(regions, moved_mm, slack)
            for regions, slack in zip(zip(*((s.front, s.behind) for s in sides), strict=True), slack_mm, strict=True)
        )

    def in_way_of(self, way: Candidate) -> Iterator[tuple[tuple[Forbidden, ...], tuple[Forbidden, ...]]]:
        """What the wing in front, and that behind, must keep clear of in each hit, body by body; with slack, what they
        surely meet.

        Only what swings is known so well that it can be said for other blanks.
        """
        slacks_mm = [sum(each.shape_mm for each in beyond) for beyond in self.beyond.of(way)]
        for hit, sides in zip(self.option(way).hits, self.sides(way), strict=True):
            front, behind = (
                self._forbidden(way, hit, region, slack_mm)
                for region, slack_mm in zip((sides.front, sides.behind), slacks_mm, strict=True)
            )
            yield front, behind

    def _forbidden(self, way: Candidate, hit: Hit, region: Region, slack_mm: float) -> tuple[Forbidden, ...]:
        if not self.problem.slack:
            return region.parts
        if hit.kind != "swing" and self.problem.slack[way.operation].beside_mm:
            return ()
        return tuple(part.shrunk(slack_mm, hit.leg_moved_mm) for part in region.parts)


def _rows_with_each(tree: WingTree, each: Sequence[Sequence[Forbidden]]) -> tuple[Ints, Floats]:
    """Where a tree keeps what it knows of bodies, and whether each choice has them: (choices, bodies)."""
    numbers = {body: nth for nth, body in enumerate(dict.fromkeys(itertools.chain(*each)))}
    own = np.zeros((len(each), len(numbers)))
    for choice, bodies in enumerate(each):
        own[choice, [numbers[body] for body in bodies]] = 1.0
    return tree.rows_of(list(numbers)), own
