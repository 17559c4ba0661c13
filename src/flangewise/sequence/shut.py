"""Whether all tools together shut a section, or some of its bends whatever lies beside them: no prices are asked."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property, partial

import numpy as np

from flangewise.geometry import Chain
from flangewise.sequence.arrays import Bools, Ints, distinct
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.in_way import OF_ALL, OF_FEW, OF_KNOWN, Choices, Way
from flangewise.sequence.levels import Level, levels_outward
from flangewise.sequence.problem import SectionProblem, first_bend_up
from flangewise.sequence.tree import WingTree

# Machines that have one section, by their numbers; the first alone.
Machines = tuple[int, ...]
FIRST: Machines = (0,)

# So many sets in a layer are gone through of a part in other lengths: one that is shut has few.
MOST_SETS = 4_000
# And so many of any other: of many bends more would last too long.
MOST_AT_ALL = 20_000
# Of so few in each layer it is seen at once where there is a way through.
FEW_SETS = 3
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
        """`problems`: the same part on each machine; those after the first are taken when they are first asked for."""
        self._problems = iter(problems)
        self._choices: dict[tuple[int, Machines], tuple[Choices, ...]] = {}
        self._trees: dict[tuple[object, ...], WingTree] = {}
        self._levels: dict[tuple[object, ...], Level] = {}

    @cached_property
    def _first(self) -> FeasibilityTable:
        return _table(next(self._problems))

    @cached_property
    def _tables(self) -> tuple[FeasibilityTable, ...]:
        return self._first, *map(_table, self._problems)

    @cached_property
    def _alike(self) -> tuple[Machines, ...]:
        """The machines that have the same section, by their numbers."""
        alike: dict[Chain, Machines] = {}
        for nth, table in enumerate(self._tables):
            alike[table.problem.chain] = (*alike.get(table.problem.chain, ()), nth)
        return tuple(alike.values())

    def shuts(self, first: int, last: int, *, leg: int = 0, longer_mm: float = 0.0, asked: int = OF_ALL) -> bool:
        """Whether operations from `first` to `last` are shut by themselves, whatever is bent beside them.

        The leg of that number, from 0, is so much longer. A leg beside them goes as far as the next bend, formed or
        flat: wings that hold no more meet no more. A hem folds the side with less sheet, an offset is two bends: of
        both the whole section must be known. `asked`: how much is asked before it is called open.
        """

        def leads_nowhere(groups: Iterable[Machines], asked: int) -> bool:
            over = self._first.problem.limits.watch.over
            chains = [(each, _with_leg(self._of(each).problem, leg, longer_mm)) for each in groups]
            some = {machines: chain for machines, chain in chains if chain is not None}
            is_open = partial(self._is_open, (first, last), some, asked)
            whole = len(some) == len(chains)
            return whole and _leads_nowhere(last + 1 - first, None, is_open, MOST_SETS, over)

        if not _only_swings(self._first, first, last):
            return False
        # What few choices of the first machine leave open is open; of other lengths it is asked at once what shut the
        # section. As a rule what one machine shuts all do: asked of all together it is asked once.
        if asked != OF_KNOWN and not leads_nowhere([FIRST], OF_FEW):
            return False
        if not all(_only_swings(table, first, last) for table in self._tables[1:]):
            return False
        apart = asked == OF_ALL and len(self._tables) > 1
        each = [(nth,) for nth in range(len(self._tables))]
        return leads_nowhere(self._alike, asked) or (apart and all(leads_nowhere([one], asked) for one in each))

    def _of(self, machines: Machines) -> FeasibilityTable:
        return self._first if machines == FIRST else self._tables[machines[0]]

    def _is_open(
        self, run: tuple[int, int], chains: Mapping[Machines, Chain], asked: int, number: int, before: Ints
    ) -> Bools:
        """From which sets of the run's operations one can be made on some machine."""
        (first, last), found = run, np.zeros(len(before), dtype=bool)
        for machines, chain in chains.items():
            for each in self._choices_of(machines, first + number):
                wings = tuple(
                    partial(self._wing, chain, each, further, toward_end=toward_end)
                    for toward_end, further in ((True, last - first - number), (False, number))
                )
                left = np.flatnonzero(~found)
                found[left] = each.are_free(wings, before[left] << first, asked)
        return found

    def _choices_of(self, machines: Machines, operation: int) -> tuple[Choices, ...]:
        if (operation, machines) not in self._choices:
            tables = [self._first] if machines == FIRST else [self._tables[nth] for nth in machines]
            ways: dict[bool, list[Way]] = {}
            for table in tables:
                for way in table.candidates[operation]:
                    ways.setdefault(way.marked_up, []).append((table, way))
            few = self._choices_of(FIRST, operation) if machines != FIRST and FIRST[0] in machines else ()
            first = {each.marked_up: each for each in few}
            self._choices[operation, machines] = tuple(Choices(up, each, first.get(up)) for up, each in ways.items())
        return self._choices[operation, machines]

    def _wing(self, chain: Chain, of: Choices, further: int, *, toward_end: bool) -> tuple[WingTree, int]:
        """One wing, one for all rows of few operations and all sections that have it alike."""
        operations, active = self._first.problem.operations, of.operation
        others = range(active + 1, len(operations)) if toward_end else range(active - 1, -1, -1)
        others = others[: max(further, FEW_FURTHER)]
        beside = operations[active].zones[-1] + 1 if toward_end else operations[active].zones[0]
        levels = tuple(self._level(chain, each, of.marked_up, toward_end=toward_end) for each in others)
        key = active, toward_end, chain.flats_mm[beside], tuple(map(id, levels))
        if key not in self._trees:
            self._trees[key] = WingTree(levels, chain.flats_mm[beside], rise_deg=0.0)
        return self._trees[key], further

    def _level(self, chain: Chain, number: int, up: bool, *, toward_end: bool) -> Level:
        operation = self._first.problem.operations[number]
        beyond = operation.zones[-1] + 1 if toward_end else operation.zones[0]
        key = number, toward_end, up, chain.flats_mm[beyond], chain.zones_mm, chain.radii_mm
        if key not in self._levels:
            active = -1 if toward_end else 1
            (level,) = levels_outward(chain, (operation,), active, toward_end=toward_end, marked_up=up)
            self._levels[key] = replace(level, operation=number)
        return self._levels[key]


def _table(problem: SectionProblem) -> FeasibilityTable:
    # Ways out are no matter: what stands upright is not looked for.
    return FeasibilityTable(replace(first_bend_up(problem), check_exits=False))


def _only_swings(table: FeasibilityTable, first: int, last: int) -> bool:
    options = (each.options for each in table.problem.operations[first : last + 1])
    return all(hit.kind == "swing" for each in options for option in each for hit in option.hits)


def _with_leg(problem: SectionProblem, leg: int, longer_mm: float) -> Chain | None:
    """A section with one leg so much longer; None where nothing flat is left of it."""
    chain, operations, flats_mm = problem.chain, problem.operations, list(problem.chain.flats_mm)
    flats_mm[face := operations[leg].zones[0] if leg < len(operations) else -1] += longer_mm
    return replace(chain, flats_mm=tuple(flats_mm)) if flats_mm[face] > 0 else None
