"""Whether all tools together shut a section, or some of its bends whatever lies beside them: no prices are asked."""

import itertools
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property, partial

import numpy as np

from flangewise.clearance import MACHINE, InEachWay, Shrunk
from flangewise.geometry import Chain
from flangewise.sequence.arrays import Bools, Ints, distinct
from flangewise.sequence.candidates import Candidate
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.moves import START
from flangewise.sequence.problem import SectionProblem, first_bend_up
from flangewise.sequence.tree import Level, WingTree, levels_outward

# A wing, and how many levels of it are asked of.
Wing = tuple[WingTree, int]
# What stands in the way of the wing toward the end and of that toward the start.
Bodies = tuple[tuple[Shrunk, ...], ...]

# So many sets in a layer are gone through of a part in other lengths: one that is shut has few.
MOST_SETS = 4_000
# And so many of any other: of many bends more would last too long.
MOST_AT_ALL = 20_000
# Of so few in each layer it is seen at once where there is a way through.
FEW_SETS = 3
# What is asked before some operations are called open: of all choices of tools together what is known to stand in the
# way, or all of it, on all machines together and on each. Of few choices it is only seen that they are open.
OF_FEW, OF_KNOWN, OF_ALL = 0, 1, 2
# So many turns of few choices come before those of all.
QUICK = 2
# So far out a wing is kept for all rows of operations that hold it.
FEW_FURTHER = 5


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
        self._choices: dict[tuple[int, tuple[int, ...]], tuple[_Choices, ...]] = {}
        self._trees: dict[tuple[object, ...], WingTree] = {}
        self._levels: dict[tuple[object, ...], Level] = {}

    def shuts(self, first: int, last: int, *, leg: int = 0, longer_mm: float = 0.0, asked: int = OF_ALL) -> bool:
        """Whether operations from `first` to `last` are shut by themselves, whatever is bent beside them.

        The leg of that number, from 0, is so much longer. A leg beside them goes as far as the next bend, formed or
        flat: wings that hold no more meet no more. A hem folds the side with less sheet, an offset is two bends: of
        both the whole section must be known. `asked`: how much is asked before it is called open.
        """
        for table in self._tables:
            options = (each.options for each in table.problem.operations[first : last + 1])
            if any(hit.kind != "swing" for each in options for option in each for hit in option.hits):
                return False
        with_leg = [_with_leg(table.problem, leg, longer_mm) for table in self._tables]
        chains = [chain for chain in with_leg if chain is not None]
        if len(chains) < len(with_leg):
            return False

        def leads_nowhere(machines: Sequence[int], asked: int) -> bool:
            alike: dict[Chain, tuple[int, ...]] = {}
            for nth in machines:
                alike[chains[nth]] = (*alike.get(chains[nth], ()), nth)
            over = self._tables[0].problem.limits.watch.over
            is_open = partial(self._is_open, (first, last), alike, asked)
            return _leads_nowhere(last + 1 - first, None, is_open, MOST_SETS, over)

        # What few choices of the first machine leave open is open. As a rule what one machine shuts all do: asked of
        # all together it is asked once.
        every = range(len(chains))
        if not leads_nowhere([nth for nth in every if chains[nth] == chains[0]], OF_FEW):
            return False
        apart = asked == OF_ALL and len(every) > 1
        return leads_nowhere(every, asked) or (apart and all(leads_nowhere([nth], asked) for nth in every))

    def _is_open(
        self, run: tuple[int, int], alike: Mapping[Chain, tuple[int, ...]], asked: int, number: int, before: Ints
    ) -> Bools:
        """From which sets of the run's operations one can be made on some machine."""
        (first, last), found = run, np.zeros(len(before), dtype=bool)
        for chain, machines in alike.items():
            for each in self._choices_of(machines, first + number):
                wings = tuple(
                    (self._tree(machines[0], chain, each, further, toward_end=toward_end), further)
                    for toward_end, further in ((True, last - first - number), (False, number))
                )
                left = np.flatnonzero(~found)
                found[left] = each.are_free(wings, before[left] << first, asked)
        return found

    def _choices_of(self, machines: tuple[int, ...], operation: int) -> tuple["_Choices", ...]:
        if (operation, machines) not in self._choices:
            ways: dict[bool, list[tuple[FeasibilityTable, Candidate]]] = {}
            for table in (self._tables[nth] for nth in machines):
                for way in table.candidates[operation]:
                    ways.setdefault(way.marked_up, []).append((table, way))
            self._choices[operation, machines] = tuple(_Choices(*each) for each in ways.items())
        return self._choices[operation, machines]

    def _tree(self, nth: int, chain: Chain, of: "_Choices", further: int, *, toward_end: bool) -> WingTree:
        """One wing, one for all rows of few operations and all sections that have it alike."""
        operations, active = self._tables[nth].problem.operations, of.operation
        others = range(active + 1, len(operations)) if toward_end else range(active - 1, -1, -1)
        others = others[: max(further, FEW_FURTHER)]
        beside = operations[active].zones[-1] + 1 if toward_end else operations[active].zones[0]
        levels = tuple(self._level(nth, chain, each, of.marked_up, toward_end=toward_end) for each in others)
        key = active, toward_end, chain.flats_mm[beside], tuple(map(id, levels))
        if key not in self._trees:
            self._trees[key] = WingTree(levels, chain.flats_mm[beside], rise_deg=0.0)
        return self._trees[key]

    def _level(self, nth: int, chain: Chain, number: int, up: bool, *, toward_end: bool) -> Level:
        operation = self._tables[nth].problem.operations[number]
        beyond = operation.zones[-1] + 1 if toward_end else operation.zones[0]
        key = number, toward_end, up, chain.flats_mm[beyond], chain.zones_mm, chain.radii_mm
        if key not in self._levels:
            active = -1 if toward_end else 1
            (level,) = levels_outward(chain, (operation,), active, toward_end=toward_end, marked_up=up)
            self._levels[key] = replace(level, operation=number)
        return self._levels[key]


class _Choices:
    """The choices of tools of an operation with one face up, either end behind, on some machines: each body that stands
    in the way once. Not to be shared between threads."""

    def __init__(self, marked_up: bool, ways: Sequence[tuple[FeasibilityTable, Candidate]]) -> None:
        self.marked_up, self._ways, self.operation = marked_up, ways, ways[0][1].operation
        # What is asked one after the other, of few choices first; what these make, by its number.
        self._turns: list[Callable[[], Iterable[Bodies]]] = [lambda: self._first, self._few]
        self._known: dict[int, tuple[InEachWay, ...]] = {}

    @cached_property
    def _alike(self) -> list[tuple[FeasibilityTable, list[Candidate]]]:
        """The ways on one machine with one end behind."""
        found: dict[tuple[int, int], tuple[FeasibilityTable, list[Candidate]]] = {}
        for table, way in self._ways:
            found.setdefault((id(table), way.behind), (table, []))[1].append(way)
        return list(found.values())

    @cached_property
    def _first(self) -> tuple[Bodies, ...]:
        """What stands in the way with the first choice, either end behind."""
        return tuple(_in_way_of(table, ways[0]) for table, ways in self._alike[:2])

    def _machines(self, names: Collection[str]) -> Iterator[Bodies]:
        """What of each machine stands in the way with every choice, with either end behind."""
        for table, ways in self._alike:
            sides = table.in_way_of_all(ways)
            yield _only(sides if ways[0].behind == START else sides[::-1], names)

    def _tools(self, names: Collection[str]) -> Iterator[Bodies]:
        """Some of the bodies with every choice, those that machines have alike once."""
        told: set[tuple[object, ...]] = set()
        for table, way in self._ways:
            hit = table.option(way).hits[0]
            bodies = tuple(id(body) for body in hit.stack.bodies if body.name in names)
            bend = hit.stack.opening_mm, hit.stack.shoulder_radius_mm, hit.formed_radius_mm, hit.loaded_turn_deg
            key = (way.behind, bodies, *bend, hit.zone_mm, hit.leg_moved_mm)
            if key not in told:
                told.add(key)
                yield _only(_in_way_of(table, way), names)

    def _few(self) -> Iterator[Bodies]:
        """What stands in the way with the choices of the first machine that form the radius of the first."""
        table, (first, *_) = self._alike[0]
        for own, ways in self._alike[:2]:
            for way in ways:
                if own.option(way).hits[0].formed_radius_mm == table.option(first).hits[0].formed_radius_mm:
                    yield _in_way_of(own, way)

    def are_free(self, wings: Sequence[Wing], sets: Ints, asked: int) -> Bools:
        """For each set: do both wings keep clear of what is in their way with some choice.

        Most that is free is so with the first choices. Of the rest it is asked, for every choice, what of machine and
        tools the wings meet with these, and what else there is only where that does not settle it.
        """
        left = np.arange(len(sets))
        for nth in range(QUICK):
            left = left[~self._free_in(nth, wings, sets[left])] if len(left) else left
        free = np.ones(len(sets), dtype=bool)
        free[left] = False
        if asked == OF_FEW or not len(left):
            return free
        if len(self._turns) == QUICK:
            self._turns += self._in_turn(wings, sets[left])
        for nth in range(QUICK, len(self._turns)):
            if asked == OF_KNOWN and nth > QUICK and nth not in self._known:
                break
            left = left[self._free_in(nth, wings, sets[left])] if len(left) else left
        free[left] = True
        return free

    def _free_in(self, nth: int, wings: Sequence[Wing], sets: Ints) -> Bools:
        if nth not in self._known:
            self._known[nth] = _in_each(self._turns[nth]())
        return _are_free(wings, sets, self._known[nth])

    def _in_turn(self, wings: Sequence[Wing], sets: Ints) -> Iterator[Callable[[], Iterable[Bodies]]]:
        """What is asked of every choice, one after the other; of `sets` it is known that they meet the first."""
        every = {body.name for both in self._first for side in both for body in side}
        alone = {name: _in_each(_only(both, {name}) for both in self._first) for name in every}
        met = {name for name, sides in alone.items() if not _are_free(wings, sets, sides).all()}
        tools = every.difference(MACHINE)
        if met.intersection(MACHINE):
            yield partial(self._machines, met.intersection(MACHINE))
        if met & tools not in (tools, set()):
            yield partial(self._tools, met & tools)
        yield partial(self._tools, tools)
        yield partial(self._tools, every)


def _only(both: Bodies, names: Collection[str]) -> Bodies:
    return tuple(tuple(body for body in side if body.name in names) for side in both)


def _in_way_of(table: FeasibilityTable, way: Candidate) -> Bodies:
    """What stands in the way of the wing toward the end, and of that toward the start, with one choice of tools."""
    front, behind = zip(*table.surely_in_way_of(way), strict=True)
    both = tuple(itertools.chain(*front)), tuple(itertools.chain(*behind))
    return both if way.behind == START else both[::-1]


def _in_each(each: Iterable[Bodies]) -> tuple[InEachWay, ...]:
    return tuple(InEachWay(side) for side in zip(*dict.fromkeys(each), strict=True))


def _are_free(wings: Sequence[Wing], sets: Ints, sides: Sequence[InEachWay]) -> Bools:
    """For each set: is there a choice with which no wing surely meets a body."""
    struck = np.zeros((len(sets), len(sides[0].all)), dtype=np.uint8)
    for (tree, levels), side in zip(wings, sides, strict=True):
        left = np.flatnonzero((struck != side.all).any(axis=1))
        struck[left] |= tree.struck(sets[left], side, levels)
    free: Bools = (struck != sides[0].all).any(axis=1)
    return free


def _with_leg(problem: SectionProblem, leg: int, longer_mm: float) -> Chain | None:
    """A section with one leg so much longer; None where nothing flat is left of it."""
    chain, operations, flats_mm = problem.chain, problem.operations, list(problem.chain.flats_mm)
    flats_mm[face := operations[leg].zones[0] if leg < len(operations) else -1] += longer_mm
    return replace(chain, flats_mm=tuple(flats_mm)) if flats_mm[face] > 0 else None
