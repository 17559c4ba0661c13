"""Whether all tools together shut a section, or some of its bends whatever lies beside them: no prices are asked."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import cached_property, partial

import numpy as np

from flangewise.clearance import InEachWay, Shrunk
from flangewise.geometry import Chain
from flangewise.sequence.arrays import Bools, Ints, distinct
from flangewise.sequence.candidates import Candidate, Pose
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.moves import START
from flangewise.sequence.problem import SectionProblem, first_bend_up
from flangewise.sequence.tree import WingTree, levels_outward

# What stands in the way of the wing in front and of that behind.
Bodies = tuple[tuple[Shrunk, ...], ...]
_Known = dict[tuple[Bodies, ...], Sequence[InEachWay]]

# So many sets in a layer are gone through of a part in other lengths: one that is shut has few.
MOST_SETS = 4_000
# And so many of any other: of many bends more would last too long.
MOST_AT_ALL = 20_000
# Of so few in each layer it is seen at once where there is a way through.
FEW_SETS = 3


def is_shut(table: FeasibilityTable) -> bool:
    """Whether every order comes to a step at which a wing meets every choice of tools, or the stops find nothing.

    False: not known, there may be an order.
    """

    def is_open(operation: int, sets: Ints) -> Bools:
        found = np.zeros(len(sets), dtype=bool)
        for made in table.presentations(operation):
            asked = np.flatnonzero(~found)
            asked = asked[np.isfinite(table.handled(made, sets[asked])).any(axis=1)]
            if len(asked):
                found[asked] = ~table.shut(made, sets[asked])
        return found

    problem, limits = table.problem, table.problem.limits
    return _leads_nowhere(len(problem.operations), problem.order, is_open, MOST_AT_ALL, limits.watch.over)


def _leads_nowhere(
    count: int,
    order: Sequence[int] | None,
    is_open: Callable[[int, Ints], Bools],
    most: int,
    over: Callable[[], bool],
) -> bool:
    """Whether unfolding backward by sets alone comes to an end before the flat blank.

    A few of the sets of each layer are followed first: where these lead through, so do all.
    """
    for width in (FEW_SETS, most + 1):
        sets, is_cut = np.array([(1 << count) - 1]), False
        for left in range(count, 0, -1):
            found = [np.zeros(0, dtype=np.int64)]
            for index in range(count) if order is None else (order[left - 1],):
                before = sets[(sets >> index) & 1 == 1] & ~(1 << index)
                if len(before):
                    found.append(before[is_open(index, before)])
            sets = distinct(np.concatenate(found))
            if not len(sets):
                break
            sets, is_cut = sets[:width], is_cut or len(sets) > width
            if len(sets) > most or over():
                return False
        else:
            return False
        if not is_cut:
            return True
    return False


class InTheWay:
    """What stands in the way of each bend with every choice of tools, asked of a section with other lengths of legs.

    Only what surely strikes is known, and tools that reach no further than the part did: what is shut is so.
    """

    def __init__(self, problems: Iterable[SectionProblem]) -> None:
        """`problems`: the same part on each machine."""
        self._tables = tuple(FeasibilityTable(first_bend_up(problem)) for problem in problems)
        self._ways: dict[tuple[int, int], list[_Choices]] = {}
        self._trees: dict[tuple[object, ...], WingTree] = {}
        self._known: _Known = {}

    def shuts(self, first: int, last: int, *, leg: int = 0, longer_mm: float = 0.0) -> bool:
        """Whether operations from `first` to `last` are shut by themselves, whatever is bent beside them.

        The leg of that number, from 0, is so much longer. A leg beside them goes as far as the next bend, formed or
        flat: wings that hold no more meet no more. A hem folds the side with less sheet, an offset is two bends: of
        both the whole section must be known.
        """
        for table in self._tables:
            options = (each.options for each in table.problem.operations[first : last + 1])
            if any(hit.kind != "swing" for each in options for option in each for hit in option.hits):
                return False
        with_leg = [_with_leg(table.problem, leg, longer_mm) for table in self._tables]
        chains = [chain for chain in with_leg if chain is not None]
        if len(chains) < len(with_leg):
            return False

        def is_open(number: int, before: Ints, machines: Iterable[int]) -> Bools:
            found, sets = np.zeros(len(before), dtype=bool), before << first
            for nth in machines:
                for each in self._ways_of(nth, first + number):
                    left = np.flatnonzero(~found)
                    if len(left):
                        sides = (
                            self._tree(nth, chains[nth], (first, last), each.ways[0], in_front=in_front)
                            for in_front in (True, False)
                        )
                        found[left] = each.are_free(tuple(sides), sets[left])
            return found

        def leads_nowhere(machines: Sequence[int]) -> bool:
            over = self._tables[0].problem.limits.watch.over
            return _leads_nowhere(last + 1 - first, None, partial(is_open, machines=machines), MOST_SETS, over)

        # As a rule what one machine shuts all do: asked of all together it is asked once.
        every = range(len(chains))
        return leads_nowhere(every) or (len(every) > 1 and all(leads_nowhere([nth]) for nth in every))

    def _ways_of(self, nth: int, operation: int) -> list["_Choices"]:
        if (nth, operation) not in self._ways:
            table = self._tables[nth]
            poses: dict[Pose, list[Candidate]] = {}
            for way in table.candidates[operation]:
                poses.setdefault((operation, way.marked_up, way.behind), []).append(way)
            self._ways[nth, operation] = [_Choices(table, ways, self._known) for ways in poses.values()]
        return self._ways[nth, operation]

    def _tree(self, nth: int, chain: Chain, run: tuple[int, int], way: Candidate, *, in_front: bool) -> WingTree:
        """One wing as far as the run goes, one for all sections that have it alike."""
        (first, last), active, toward_end = run, way.operation, (way.behind == START) == in_front
        operations = self._tables[nth].problem.operations
        beside, end = operations[active].zones, operations[last if toward_end else first].zones
        faces = slice(beside[-1] + 1, end[-1] + 2) if toward_end else slice(end[0], beside[0] + 1)
        flats_mm, up = chain.flats_mm[faces], way.marked_up
        key = active, toward_end, up, flats_mm, chain.zones_mm, chain.radii_mm
        if key not in self._trees:
            further = last - active if toward_end else active - first
            levels = levels_outward(chain, operations, active, toward_end=toward_end, marked_up=up)[:further]
            self._trees[key] = WingTree(levels, flats_mm[0 if toward_end else -1], rise_deg=0.0)
        return self._trees[key]


class _Choices:
    """The choices of tools of an operation in one pose: each body that stands in the way once."""

    def __init__(self, table: FeasibilityTable, ways: Sequence[Candidate], known: _Known) -> None:
        """`known`: what was made for other machines."""
        self.ways, self._table, self._known = ways, table, known

    @cached_property
    def _each(self) -> tuple[Bodies, ...]:
        """What stands in the way of the wing in front, and of that behind, with each choice; those alike once."""
        return tuple(dict.fromkeys(tuple(*self._table.surely_in_way_of(way)) for way in self.ways))

    @cached_property
    def _first(self) -> tuple[Bodies, ...]:
        return (tuple(*self._table.surely_in_way_of(self.ways[0])),)

    @cached_property
    def _of_all(self) -> Sequence[InEachWay]:
        return tuple(InEachWay(side) for side in zip(*self._each, strict=True))

    def _some_of(self, each: Sequence[Bodies], *, machine: bool) -> Sequence[InEachWay]:
        """The same of some choices, of the machine or of the tools alone: as a rule these are alike on all machines."""
        some = ((tuple(body for body in side if body.is_machine is machine) for side in both) for both in each)
        key = tuple(dict.fromkeys(map(tuple, some)))
        if key not in self._known:
            self._known[key] = tuple(InEachWay(side) for side in zip(*key, strict=True))
        return self._known[key]

    @cached_property
    def _in_all(self) -> Sequence[Sequence[Shrunk]]:
        """What of the machine stands in the way of both wings with every choice."""
        return self._table.in_way_of_all(self.ways)

    def are_free(self, trees: Sequence[WingTree], sets: Ints) -> Bools:
        """For each set: do both wings keep clear of what is in their way with some choice.

        Most that is free is so with the first choice. Where the machine is in the way with that it is asked what of
        it is so with all of them, else what the tools shut: as a rule that settles it.
        """
        with_tools, with_machine = (
            _are_free(trees, sets, self._some_of(self._first, machine=machine)) for machine in (False, True)
        )
        free, may_be = with_tools & with_machine, np.ones(len(sets), dtype=bool)
        for tree, regions in zip(trees, () if with_machine.all() else self._in_all, strict=False):
            left = np.flatnonzero(may_be & ~with_machine)
            may_be[left] = ~tree.meets(sets[left], *regions)
        left = np.flatnonzero(may_be & ~free)
        for are_all in (False, True):
            if len(left):
                sides = self._of_all if are_all else self._some_of(self._each, machine=False)
                left = left[_are_free(trees, sets[left], sides)]
        free[left] = True
        return free


def _are_free(trees: Sequence[WingTree], sets: Ints, sides: Sequence[InEachWay]) -> Bools:
    struck = np.zeros((len(sets), len(sides[0].all)), dtype=np.uint8)
    for tree, side in zip(trees, sides, strict=True):
        left = np.flatnonzero((struck != side.all).any(axis=1))
        struck[left] |= tree.struck(sets[left], side)
    free: Bools = (struck != sides[0].all).any(axis=1)
    return free


def _with_leg(problem: SectionProblem, leg: int, longer_mm: float) -> Chain | None:
    """A section with one leg so much longer; None where nothing flat is left of it."""
    chain, operations, flats_mm = problem.chain, problem.operations, list(problem.chain.flats_mm)
    flats_mm[face := operations[leg].zones[0] if leg < len(operations) else -1] += longer_mm
    return replace(chain, flats_mm=tuple(flats_mm)) if flats_mm[face] > 0 else None
