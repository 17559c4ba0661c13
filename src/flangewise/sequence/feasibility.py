"""What may be done from a set of done operations: all that decides it, looked up by the bends between.

A set of done operations is an integer, bit i for operation i. For each operation, pose and tool option
the table says for many sets at once whether the operation is possible and what it costs by itself.
"""

import itertools
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from flangewise.clearance import Forbidden, Region, Shrunk, shrunk_machine
from flangewise.sequence.arrays import Bools, Floats, Ints, distinct, sets_without, without
from flangewise.sequence.candidates import Candidate, Exclusion, Lot, Pose, Presentation
from flangewise.sequence.moves import END, START
from flangewise.sequence.problem import Hit, SectionProblem
from flangewise.sequence.regions import MadeTable, Shapes, Sides
from flangewise.sequence.step_prices import StepPrices
from flangewise.sequence.stroke_prices import least_of
from flangewise.sequence.tree import FREE, MEETS, UNKNOWN, WingTree
from flangewise.sequence.upright import too_tall

if TYPE_CHECKING:
    from flangewise.sequence.arrivals import Arrivals

# Up to so many operations what a pose costs is reckoned for all sets at once; where less lie behind, handling is.
MOST_WHOLE = 12
# From so many choices of tools on it is worth knowing what stands in the way with all of them.
MANY_OPTIONS = 4


class FeasibilityTable(StepPrices):
    """Prices of candidates by set, infinite where they cannot be made; not to be shared between threads."""

    def __init__(self, problem: SectionProblem, shapes: Shapes | None = None, *, each_held: bool = False) -> None:
        """Shapes are worked out when first asked for; `shapes` of a problem like it are used further.

        `each_held`: with slack too the part is held by each choice of tools by itself, of few operations.
        """
        self.shapes = shapes if shapes is not None else Shapes(problem)
        super().__init__(problem, self.shapes.wings.trees)
        self.regions = self.shapes.wings.regions
        self.exclusions: dict[int, list[Exclusion]] = {}
        self._is_each_held = self._has_few_states and (each_held or not problem.slack)
        # Whether a bound that knows of tools in the way is of each choice by itself too.
        self.is_each_apart = self._has_few_states and each_held
        # There, by pose: whether a wing meets what is in its way with each choice, in each set without the operation.
        self._met: dict[Pose, NDArray[np.int8]] = {}
        self._sides: dict[tuple[int, int, int | None], tuple[Sides, ...]] = {}
        # By way: what a wing must keep clear of, the one in front or the one behind, as its tree knows it.
        self._avoided: dict[Candidate, tuple[tuple[int, Ints], ...]] = {}
        self._in_all: dict[tuple[Pose, bytes], tuple[tuple[Shrunk, ...], ...]] = {}
        # By pose and its tools: what each wing must keep clear of, as its tree knows it, and with which of them.
        self._with_each: dict[tuple[Pose, bytes], tuple[tuple[Ints, Floats], ...]] = {}
        self._is_whole = len(problem.operations) <= MOST_WHOLE
        self._alone_s: dict[tuple[Pose, bytes], float] = {}
        if problem.check_exits:
            self.remember(too_tall(problem, shapes=self.shapes))
        # What sets cost at least to be reached, by the ways that may be taken.
        self.arrivals: dict[tuple[bytes, ...], Arrivals] = {}
        # The same of more blanks than these, with all their tools.
        self.reached: Arrivals | None = None

    def remember(self, found: Iterable[Exclusion]) -> None:
        """Keep what a closer look found."""
        for item in found:
            self.exclusions.setdefault(item.operation, []).append(item)

    def sides(self, way: Candidate) -> tuple[Sides, ...]:
        """Regions of every hit of a way; of what swings they are the same with either end behind."""
        operation, hits = self.problem.operations[way.operation], self.option(way).hits
        key = way.operation, way.option, None if all(hit.kind == "swing" for hit in hits) else way.behind
        if key not in self._sides:
            self._sides[key] = tuple(self.regions.of(operation, hit, behind=way.behind) for hit in hits)
        return self._sides[key]

    def strikes(self, way: Candidate, sets: Ints) -> Bools:
        """For each set of operations done before: does a wing meet a tool in any hit."""
        return self._strikes(way, self._wings_of(way, sets))

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
            return np.where(self.shut(made, sets), np.inf, 0.0)
        each_s = made.own_s + self.made_s(made, sets)
        ranked, left = np.argsort(each_s, axis=0, kind="stable"), np.arange(len(sets))
        free_s = np.full(len(sets), np.inf)
        for nth, rows in enumerate(ranked):
            if nth == 1:
                left = left[~self._surely_shut(made, self._wings_of(made, sets[left]))]
            for row in distinct(rows[left]):
                asked = left[rows[left] == row]
                free = asked[~self._meets(made, int(row), sets[asked])]
                free_s[free] = each_s[row, free]
            left = left[np.isinf(free_s[left])]
            if not len(left):
                break
        more_s: Floats = free_s - (made.own_s.min() + self.made_s(made, sets).min(axis=0))
        return more_s

    def _meets(self, made: Presentation, row: int, sets: Ints) -> Bools:
        """The same as `strikes` of one of the choices, each set asked once."""
        if made.pose not in self._met:
            shape = len(self.problem.operations[made.operation].options), 1 << (len(self.problem.operations) - 1)
            self._met[made.pose] = np.full(shape, UNKNOWN, dtype=np.int8)
        known, states = self._met[made.pose][made.options[row]], without(made.operation, sets)
        asked = known[states] == UNKNOWN
        if asked.any():
            known[states[asked]] = np.where(self.strikes(made.candidate(row), sets[asked]), MEETS, FREE)
        met: Bools = known[states] == MEETS
        return met

    def take_over(self, wide: "FeasibilityTable", options: Sequence[Sequence[int]]) -> None:
        """What is met on all blanks of a problem with these and more: `options` are the choices there, in this order.

        A wing that meets a tool wherever other blanks put it does so wherever some of them do.
        """
        for pose, known in wide._met.items():
            self._met[pose] = np.where(known[list(options[pose[0]])] == MEETS, MEETS, UNKNOWN).astype(np.int8)

    def _surely_shut(self, made: Presentation, leaves: Ints) -> Bools:
        """Does a wing meet what with every choice of tools stands in its way: most that is shut, asked at once."""
        struck = np.zeros(leaves.shape[1], dtype=bool)
        if len(made.options) < MANY_OPTIONS:
            return struck
        key = made.pose, made.options.tobytes()
        if key not in self._in_all:
            self._in_all[key] = self.in_way_of_all([made.candidate(row) for row in range(len(made.options))])
        for tree, own, regions in zip(self.wings(made), leaves, self._in_all[key], strict=False):
            free = np.flatnonzero(~struck)
            struck[free] = tree.meets_at(own[free], tree.rows_of(regions))
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

    def prices(self, way: Candidate, sets: Ints) -> Floats:
        """Price of the way by itself for each set and datum (edge, formed face); infinite where impossible."""
        lot = Lot((self.presented(way),), np.array([len(sets)]), sets)
        prices: Floats = self.unstruck(lot, self.all_handled(lot))[0]
        chosen = np.flatnonzero(np.isfinite(prices).any(axis=1))
        prices[chosen[self.strikes(way, sets[chosen])]] = np.inf
        return prices

    def unstruck(self, lot: Lot, handled: Floats) -> Floats:
        """Prices where no tool were in the way, by choice of tools, set and datum; what was learned included."""
        prices = handled[None] + (lot.tools.own_s + self._all_made_s(lot))[:, :, None]
        for made, own in lot.each():
            if made.operation in self.exclusions:
                self._add_learned(made, lot.sets[own], prices[:, own])
        return prices

    def _add_learned(self, made: Presentation, sets: Ints, prices: Floats) -> None:
        """Add to prices what a closer look found."""
        for item in self.exclusions[made.operation]:
            if not item.is_caught and item.behind in (None, made.behind):
                spoken = np.outer(item.covers_options(made.options), (sets & item.mask) == item.value)
                prices[spoken, slice(None) if item.datum is None else item.datum] += item.price
        is_caught = self._caught(made, sets)
        some = np.flatnonzero(is_caught.any(axis=0))
        if len(some):
            more_s = np.where(is_caught[:, some], self.slid_more_s(made, self.at(made, sets[some])), 0.0)
            prices[:, some] += more_s[:, :, None]

    def all_handled(self, lot: Lot) -> Floats:
        """What handling costs, of a lot."""
        return np.concatenate([self.handled(made, lot.sets[own]) for made, own in lot.each()])

    def handled(self, made: Presentation, sets: Ints) -> Floats:
        """What a pose costs whatever the tools, by set and datum; infinite where the stops find nothing."""
        levels = len(self.wings(made)[1].levels)
        if levels >= MOST_WHOLE:
            return super().handled(made, sets)
        preferred = self.problem.preferred[made.operation] if self.problem.preferred else ()
        kept, key = self.shapes.handled_s, (made.pose, preferred)
        shift = made.operation + 1 if made.behind == END else 0
        if key not in kept:
            kept[key] = super().handled(made, np.arange(1 << levels) << shift)
        states = sets >> shift if made.behind == END else sets & ((1 << made.operation) - 1)
        handled_s: Floats = kept[key][states]
        return handled_s

    def made_s(self, made: Presentation, sets: Ints) -> Floats:
        """Seconds of the strokes and what holding costs: (choices of tools, sets)."""
        if not self._is_whole:
            return super().made_s(made, sets)
        if made.pose not in self.shapes.made:
            every = next(each for each in self.presentations(made.operation) if each.pose == made.pose)
            self.shapes.made[made.pose] = MadeTable(every.options, self.all_made_s(every))
        table = self.shapes.made[made.pose]
        rows = np.searchsorted(table.options, made.options)
        found: Floats = table.made_s[np.ix_(rows, without(made.operation, sets))]
        return found

    def _all_made_s(self, lot: Lot) -> Floats:
        """Seconds of the strokes and what holding costs, of a lot."""
        if self._is_whole:
            return np.concatenate([self.made_s(made, lot.sets[own]) for made, own in lot.each()], axis=1)
        return self._made_s(lot.tools, self.at_all(lot))

    def least_steps(self, lot: Lot, handled: Floats) -> Floats:
        """What a step costs at least with any of the choices of tools, for each set and datum, nothing in the way."""
        if self._is_whole:
            least_s = np.concatenate([self._least_made_s(made, lot.sets[own]) for made, own in lot.each()])
        else:
            least_s = least_of(self._made_s(lot.tools.apart, self.at_all(lot)))
            for made, own in lot.each():
                least_s[own] += self._caught_more_s(made, lot.sets[own])
        least: Floats = handled + (lot.tools.own_s.min() + least_s)[:, None]
        return least

    def _least_made_s(self, made: Presentation, sets: Ints) -> Floats:
        """Seconds at least with any of the choices of tools, of few operations."""
        if self._is_each_held:
            return least_of(self.made_s(made.apart, sets))
        kept, key = self.shapes.least_made_s, (made.pose, made.options.tobytes())
        if key not in kept:
            every = sets_without(made.operation, len(self.problem.operations))
            kept[key] = self.least_made_s(made) + self._caught_more_s(made, every)
        least_s: Floats = kept[key][without(made.operation, sets)]
        return least_s

    def _caught_more_s(self, made: Presentation, sets: Ints) -> Floats:
        """What a step takes at least more for being caught: it is slid off, or tilted, which takes no less."""
        more_s = np.zeros(len(sets))
        if made.operation not in self.exclusions:
            return more_s
        some = np.flatnonzero(self._caught(made, sets).all(axis=0))
        if len(some):
            made_s = super().made_s(made.apart, sets[some])
            slid_s = made_s + self.slid_more_s(made.apart, self.at(made, sets[some]))
            more_s[some] = least_of(slid_s) - least_of(made_s)
        return more_s

    def _caught(self, made: Presentation, sets: Ints) -> Bools:
        """Whether it is known that the part does not leave level: (choices of tools, sets)."""
        some, every = np.zeros((len(made.options), len(sets)), dtype=bool), np.zeros(len(sets), dtype=bool)
        for item in self.exclusions.get(made.operation, ()):
            if item.is_caught and item.behind in (None, made.behind):
                spoken = (sets & item.mask) == item.value
                if item.option is None:
                    every |= spoken
                else:
                    some |= np.outer(item.covers_options(made.options), spoken)
        return some | every

    def least_alone_s(self, made: Presentation) -> float:
        """What a step takes at least whatever is bent, handling apart."""
        key = made.pose, made.options.tobytes()
        if key not in self._alone_s:
            strokes_s = self.problem.costs.share * made.strokes.least_s(self.problem.chain.thickness_mm)
            self._alone_s[key] = made.own_s.min() + strokes_s.min() + self.least_held_s(made)
        return self._alone_s[key]

    def least_near(self, made: Presentation, first: int, count: int) -> Floats:
        """The same where only a stretch of operations about this one is known: for all their sets, as `sets_without`.

        What is not known behind leaves the raw edge to be touched past what is bent, or a formed face.
        """
        at, every, near = made.operation, len(self.problem.operations), ((1 << count) - 1) << first
        start, end = np.arange(1 << (at - first)) << first, np.arange(1 << (first + count - 1 - at)) << (at + 1)
        is_known = first == 0 if made.behind == START else first + count == every
        behind = start if made.behind == START else end
        gauged_s = (
            self.handled(made, behind) if is_known else self._gauging.least(made.operation, made.behind, behind != 0)
        )
        strokes_s = self.least_strokes_s(
            made, *self.near(made, (end, start) if made.behind == START else (start, end), near)
        )
        both_s = strokes_s[:, :, None] + gauged_s
        in_order = both_s if made.behind == START else both_s.transpose(1, 0, 2)
        least: Floats = in_order.reshape(-1, 2) + (made.own_s.min() + self.least_held_s(made))
        return least


def _rows_with_each(tree: WingTree, each: Sequence[Sequence[Forbidden]]) -> tuple[Ints, Floats]:
    """Where a tree keeps what it knows of bodies, and whether each choice has them: (choices, bodies)."""
    numbers = {body: nth for nth, body in enumerate(dict.fromkeys(itertools.chain(*each)))}
    own = np.zeros((len(each), len(numbers)))
    for choice, bodies in enumerate(each):
        own[choice, [numbers[body] for body in bodies]] = 1.0
    return tree.rows_of(list(numbers)), own
