"""What stands in the way of an operation's wings with each of its choices of tools, on some machines, asked at once."""

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from functools import cached_property, partial

import numpy as np

from flangewise.clearance import MACHINE, Bits, Body, InEachWay, Region, Shrunk, lies_within, swung_alone
from flangewise.sequence.arrays import Bools, Ints
from flangewise.sequence.candidates import Candidate
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.moves import START
from flangewise.sequence.problem import Hit
from flangewise.sequence.regions import stroke_of
from flangewise.sequence.tree import WingTree

# A wing, and how many levels of it are asked of; made when it is asked.
Wing = Callable[[], tuple[WingTree, int]]
# A way of doing an operation, on a machine.
Way = tuple[FeasibilityTable, Candidate]
# What stands in the way of the wing toward the end and of that toward the start.
Bodies = tuple[tuple[Shrunk, ...], ...]

# What is asked before some operations are called open: of all choices of tools together what is known to stand in the
# way, or all of it, on all machines together and on each. Of few choices it is only seen that they are open.
OF_FEW, OF_KNOWN, OF_ALL = 0, 1, 2
# So many turns of few choices come before those of all.
QUICK = 2


class Choices:
    """The choices of tools of an operation with one face up, either end behind, on some machines: each body that stands
    in the way once. Not to be shared between threads."""

    def __init__(self, marked_up: bool, ways: Sequence[Way], first: "Choices | None") -> None:
        """`first`: of the first machine alone, where it is among them: few choices are its."""
        self.marked_up, self._ways, self.operation = marked_up, ways, ways[0][1].operation
        # What is asked one after the other, of few choices first; what these make, by its number.
        self._turns: list[Callable[[], Iterable[Bodies]]] = [lambda: self._first, self._few]
        self._known: dict[int, tuple[InEachWay, ...]] = {}
        self._made: dict[tuple[object, ...], tuple[Region, ...]] = {}
        if first is not None:
            self._known.update((nth, first._known[nth]) for nth in range(QUICK) if nth in first._known)
            self._made = first._made

    @cached_property
    def _tables(self) -> tuple[FeasibilityTable, ...]:
        return tuple({id(table): table for table, _ in self._ways}.values())

    @cached_property
    def _own(self) -> list[Candidate]:
        """The ways on the first machine."""
        return [way for table, way in self._ways if table is self._tables[0]]

    @cached_property
    def _first(self) -> tuple[Bodies, ...]:
        """What stands in the way with the first choice, either end behind."""
        first = {way.behind: way for way in reversed(self._own)}
        return tuple(self._bodies(self._tables[0], way) for way in first.values())

    def _few(self) -> Iterator[Bodies]:
        """What stands in the way with the choices of the first machine that form the radius of the first."""
        table = self._tables[0]
        radius_mm = table.option(self._own[0]).hits[0].formed_radius_mm
        for way in self._own:
            if table.option(way).hits[0].formed_radius_mm == radius_mm:
                yield self._bodies(table, way)

    def _tools(self, names: Collection[str]) -> Iterator[Bodies]:
        """Some of the bodies with every choice."""
        return (self._bodies(table, way, names) for table, way in self._ways)

    def _machines(self, names: Collection[str]) -> Iterator[Bodies]:
        """What of the machines stands in the way with every choice on each of them, with either end behind."""
        alike = [(name, self._least(name)) for name in names]
        for behind in dict.fromkeys(way.behind for way in self._own):
            yield tuple(
                tuple(
                    Shrunk(
                        [region for (region,) in regions],
                        moved_mm,
                        max(self._slacks_mm(table)[nth] for table in self._tables),
                    )
                    for name, hits in alike
                    for regions in [[self._swung(table, hit, body, is_behind) for table, hit, body in hits]]
                    for moved_mm in [[_moved_mm(table, hit) for table, hit, _ in hits]]
                    if all(len(each) == 1 for each in regions)
                )
                for nth, is_behind in enumerate((behind != START, behind == START))
            )

    def _least(self, name: str) -> list[tuple[FeasibilityTable, Hit, Body]]:
        """A body in each stroke, seen from the ram or the die; in each without those that hold another."""
        found: dict[tuple[object, ...], dict[int, tuple[FeasibilityTable, Hit, Body]]] = {}
        for table in self._tables:
            for option in table.problem.operations[self.operation].options:
                for body in option.hits[0].stack.bodies:
                    if body.name == name:
                        of = found.setdefault(_stroke_key(option.hits[0], body), {})
                        of.setdefault(id(body), (table, option.hits[0], body))
        every = (list(of.values()) for of in found.values())
        return [
            own
            for each in every
            for own in each
            if not any(_holds(own[2], other[2]) for other in each if other is not own)
        ]

    def _bodies(self, table: FeasibilityTable, way: Candidate, names: Collection[str] | None = None) -> Bodies:
        """What stands in the way of the wing toward the end, and of that toward the start, with one choice of tools."""
        hit = table.option(way).hits[0]
        moved_mm, sides = _moved_mm(table, hit), (way.behind != START, way.behind == START)
        return tuple(
            tuple(
                region.shrunk(slack_mm, moved_mm)
                for body in hit.stack.bodies
                if names is None or body.name in names
                for region in self._swung(table, hit, body, is_behind)
            )
            for slack_mm, is_behind in zip(self._slacks_mm(table), sides, strict=True)
        )

    def _slacks_mm(self, table: FeasibilityTable) -> tuple[float, float]:
        """How far from where they are thought to be the wing toward the end, and that toward the start, may be."""
        slack = table.problem.slack
        both = slack[self.operation + 1 :], slack[: self.operation]
        to_end, to_start = (sum(each.shape_mm for each in beyond) for beyond in both)
        return to_end, to_start

    def _swung(self, table: FeasibilityTable, hit: Hit, body: Body, is_behind: bool) -> tuple[Region, ...]:
        """What a body forbids to the wing in front, or behind, each outline of it by itself: drawn once."""
        is_turned = is_behind and not body.symmetric
        key = id(body), is_turned, *_stroke_key(hit, body)
        if key not in self._made:
            chain, operation = table.problem.chain, table.problem.operations[self.operation]
            stroke = stroke_of(chain, operation, hit)
            seen = body.turned() if is_turned else body
            self._made[key] = swung_alone(seen, stroke, reach_mm=chain.developed_mm)
        return self._made[key]

    def are_free(self, wings: Sequence[Wing], sets: Ints, asked: int) -> Bools:
        """For each set: do both wings keep clear of what is in their way with some choice.

        Most that is free is so with the first choices. Of the rest it is asked, for every choice, what of machine and
        tools the wings meet with these, and what else there is only where that does not settle it.
        """
        left, is_known = np.arange(len(sets)), asked == OF_KNOWN and QUICK in self._known
        for nth in range(0 if is_known else QUICK):
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
        every = tuple(dict.fromkeys(body.name for both in self._first for side in both for body in side))
        # Each name as if it were a choice of its own, as often as there are first choices.
        each = [_only(both, {name}) for name in every for both in self._first]
        struck = _struck(wings, sets, [InEachWay(side) for side in zip(*each, strict=True)])
        by_name = np.unpackbits(struck, axis=1)[:, : len(each)].reshape(len(sets), len(every), -1)
        met = {every[nth] for nth in np.flatnonzero(by_name.all(axis=2).any(axis=0))}
        if machine := met.intersection(MACHINE):
            yield partial(self._machines, machine)
        tools = set(every).difference(MACHINE)
        yield partial(self._tools, met & tools or tools)
        yield partial(self._tools, every)


def _only(both: Bodies, names: Collection[str]) -> Bodies:
    return tuple(tuple(body for body in side if body.name in names) for side in both)


def _moved_mm(table: FeasibilityTable, hit: Hit) -> float:
    return hit.leg_moved_mm if table.problem.slack else 0.0


def _stroke_key(hit: Hit, body: Body) -> tuple[object, ...]:
    """What the way of a body hangs on, as a wing sees it."""
    own = hit.formed_radius_mm, hit.loaded_turn_deg, hit.zone_mm, hit.leg_moved_mm
    return own if body.with_ram else (*own, hit.stack.opening_mm, hit.stack.shoulder_radius_mm)


def _holds(body: Body, other: Body) -> bool:
    """Whether a body holds another; of two alike the one that comes first."""
    return lies_within(other.points_mm, body.points_mm) and not (
        lies_within(body.points_mm, other.points_mm) and id(body) < id(other)
    )


def _in_each(each: Iterable[Bodies]) -> tuple[InEachWay, ...]:
    return tuple(InEachWay(side) for side in zip(*dict.fromkeys(each), strict=True))


def _are_free(wings: Sequence[Wing], sets: Ints, sides: Sequence[InEachWay]) -> Bools:
    """For each set: is there a choice with which no wing surely meets a body."""
    free: Bools = (_struck(wings, sets, sides) != sides[0].all).any(axis=1)
    return free


def _struck(wings: Sequence[Wing], sets: Ints, sides: Sequence[InEachWay]) -> Bits:
    """For each set: with which choices does some wing surely meet a body."""
    struck: Bits = np.zeros((len(sets), len(sides[0].all)), dtype=np.uint8)
    for wing, side in zip(wings, sides, strict=True):
        left = np.flatnonzero((struck != side.all).any(axis=1))
        if len(left):
            tree, levels = wing()
            struck[left] |= tree.struck(sets[left], side, levels)
    return struck
