"""Whether all tools together shut a section, or some of its bends whatever lies beside them: no prices are asked."""

import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import cached_property, partial

import numpy as np

from flangewise.clearance import Forbidden
from flangewise.geometry import Chain
from flangewise.sequence.arrays import Bools, Ints, distinct
from flangewise.sequence.candidates import Candidate, Pose
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.moves import START
from flangewise.sequence.problem import SectionProblem, first_bend_up
from flangewise.sequence.tree import WingTree, levels_outward

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
        chains = [_with_leg(table.problem.chain, leg, longer_mm) for table in self._tables]

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
            self._ways[nth, operation] = [_Choices(table, ways) for ways in poses.values()]
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

    def __init__(self, table: FeasibilityTable, ways: Sequence[Candidate]) -> None:
        self.ways, self._table, self._in_all = ways, table, table.in_way_of_all(ways)

    @cached_property
    def _bodies(self) -> tuple[tuple[Forbidden, ...], ...]:
        """Of the wing in front, and of that behind, all that stands in its way with some choice."""
        return tuple(tuple(dict.fromkeys(itertools.chain(*side))) for side in zip(*self._each, strict=True))

    @cached_property
    def _each(self) -> tuple[tuple[tuple[Forbidden, ...], ...], ...]:
        """What stands in the way of both with each choice, those alike once."""
        return tuple(dict.fromkeys(tuple(*self._table.in_way_of(way)) for way in self.ways))

    @cached_property
    def _own(self) -> tuple[Bools, ...]:
        """Of both: which bodies are a choice's: (choices, bodies)."""
        found = []
        for side, bodies in enumerate(self._bodies):
            numbers = {id(body): nth for nth, body in enumerate(bodies)}
            own = np.zeros((len(self._each), len(bodies)), dtype=bool)
            for row, both in enumerate(self._each):
                own[row, [numbers[id(body)] for body in both[side]]] = True
            found.append(own)
        return tuple(found)

    def are_free(self, trees: Sequence[WingTree], sets: Ints) -> Bools:
        """For each set: do both wings keep clear of what is in their way with some choice."""
        met = np.zeros(len(sets), dtype=bool)
        for tree, regions in zip(trees, self._in_all, strict=False):
            met |= tree.meetings(sets, regions).any(axis=0)
        free = np.zeros(len(sets), dtype=bool)
        if met.all():
            return free
        # Most that is free is so with the first of them.
        for rows in (slice(0, 1), slice(1, None)):
            left = np.flatnonzero(~met & ~free)
            if len(left) and len(self._own[0][rows]):
                struck = np.zeros((len(self._own[0][rows]), len(left)), dtype=bool)
                for tree, every, bodies in zip(trees, self._own, self._bodies, strict=True):
                    own = every[rows]
                    asked = np.flatnonzero(own.any(axis=0))
                    struck |= own[:, asked] @ tree.meetings(sets[left], [bodies[nth] for nth in asked])
                free[left] = ~struck.all(axis=0)
        return free


def _with_leg(chain: Chain, leg: int, longer_mm: float) -> Chain:
    flats_mm = list(chain.flats_mm)
    flats_mm[leg] += longer_mm
    return replace(chain, flats_mm=tuple(flats_mm)) if longer_mm else chain
