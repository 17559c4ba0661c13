"""What may be done from a set of done operations: all that decides it, looked up by the bends between.

A set of done operations is an integer, bit i for operation i. For each operation, pose and tool option
the table says for many sets at once whether the operation is possible and what it costs by itself.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flangewise.clearance import Movables, Region
from flangewise.sequence.arrays import Bools, Floats, Ints
from flangewise.sequence.gauging import GaugeTable
from flangewise.sequence.hold import (
    BREACH_S,
    Hold,
    Lying,
    breaches,
    developed_mm,
    die_edges_mm,
    half_span_mm,
    held,
    lying,
    wishes_s,
)
from flangewise.sequence.moves import END, START, own_price
from flangewise.sequence.problem import Asked, HoldRule, Operation, SectionProblem, ToolOption
from flangewise.sequence.regions import Regions, Sides, offset_fits, side_up, wing_faces
from flangewise.sequence.solution import Blocker
from flangewise.sequence.tree import NO_LEVEL, WingTree, levels_outward

if TYPE_CHECKING:
    from flangewise.sequence.contact import Contact
    from flangewise.sequence.opening import Opening


@dataclass(frozen=True)
class Candidate:
    """One way of doing an operation, but for the datum: option of tools, face up, end behind."""

    operation: int
    option: int
    marked_up: bool
    behind: int


@dataclass(frozen=True)
class Exclusion:
    """What a closer look found: a way is dearer, or impossible, in every set that agrees with `value` on `mask`.

    `option` and `behind` None: whatever tools, whichever end behind. `datum` None: whatever it is gauged on.
    `price` infinite forbids. `blocker` says why.
    """

    operation: int
    mask: int
    value: int
    option: int | None = None
    behind: int | None = None
    datum: int | None = None
    price: float = math.inf
    blocker: Blocker | None = None

    def covers(self, way: Candidate) -> bool:
        """Whether it speaks of this way of doing the operation."""
        same = self.option in (None, way.option) and self.behind in (None, way.behind)
        return self.operation == way.operation and same


class Shapes:
    """What was found of a section's shapes between tools: the same for all problems that differ in prices alone."""

    def __init__(self, problem: SectionProblem) -> None:
        """Nothing is looked at yet."""
        self.regions = Regions(problem)
        self.trees: dict[tuple[int, bool, bool], WingTree] = {}
        self.tools: dict[int, Movables] = {}
        self.exits: dict[tuple[Candidate, int], Opening] = {}
        self.contacts: dict[tuple[Candidate, int, int], Contact] = {}


class FeasibilityTable:
    """Answers "possible, and at what price" for many sets of done operations at once, growing as asked."""

    def __init__(self, problem: SectionProblem, shapes: Shapes | None = None) -> None:
        """Trees and regions are made when first asked for; `shapes` of a problem with other prices are used further."""
        self.problem = problem
        self.shapes = shapes if shapes is not None else Shapes(problem)
        self.regions = self.shapes.regions
        self.exclusions: dict[int, list[Exclusion]] = {}
        self._trees = self.shapes.trees
        self._asked: dict[tuple[int, int], tuple[Ints, Bools]] = {}
        self._gauging = GaugeTable(problem)
        self.candidates = tuple(tuple(self._candidates(index)) for index in range(len(problem.operations)))

    def _candidates(self, index: int) -> Iterator[Candidate]:
        operation = self.problem.operations[index]
        side = side_up(self.problem, operation)
        asked = self.problem.asked[index] if self.problem.asked else Asked()
        for number, option in enumerate(operation.options):
            for marked_up in (True, False) if side is None else (side,):
                for behind in (START, END):
                    if asked.allows(operation.zones[0], marked_up=marked_up, start_behind=behind == START) and all(
                        offset_fits(self.problem, operation, h, marked_up=marked_up, behind=behind) for h in option.hits
                    ):
                        yield Candidate(index, number, marked_up, behind)

    def remember(self, found: Iterable[Exclusion]) -> None:
        """Keep what a closer look found."""
        for item in found:
            self.exclusions.setdefault(item.operation, []).append(item)

    def option(self, way: Candidate) -> ToolOption:
        """The tools of a way."""
        return self.problem.operations[way.operation].options[way.option]

    def tree(self, index: int, *, toward_end: bool, marked_up: bool) -> WingTree:
        """The tree of one wing of an operation."""
        key = (index, toward_end, marked_up)
        if key not in self._trees:
            operation, chain = self.problem.operations[index], self.problem.chain
            face = wing_faces(operation)[1 if toward_end else 0]
            levels = levels_outward(chain, self.problem.operations, index, toward_end=toward_end, marked_up=marked_up)
            self._trees[key] = WingTree(
                levels,
                chain.flats_mm[face],
                rise_deg=self._rise_deg(operation),
                bend_line_mm=half_span_mm(self.problem, operation),
            )
        return self._trees[key]

    def _rise_deg(self, operation: Operation) -> float:
        if len(operation.zones) > 1:
            return 0.0
        return min(89.0, abs(self.problem.chain.turns_deg[operation.zones[0]]) / 2)

    def wings(self, way: Candidate) -> tuple[WingTree, WingTree]:
        """Trees of the wing in front and the wing behind."""
        front = self.tree(way.operation, toward_end=way.behind == START, marked_up=way.marked_up)
        behind = self.tree(way.operation, toward_end=way.behind == END, marked_up=way.marked_up)
        return front, behind

    def sides(self, way: Candidate) -> tuple[Sides, ...]:
        """Regions of every hit of a way."""
        operation = self.problem.operations[way.operation]
        return tuple(self.regions.of(operation, hit, behind=way.behind) for hit in self.option(way).hits)

    def clear(self, way: Candidate, sets: Ints) -> Bools:
        """For each set of operations done before: no wing meets a tool in any hit."""
        free = np.ones(len(sets), dtype=bool)
        pairs = [
            pair for sides in self.sides(way) for pair in zip(self.wings(way), (sides.front, sides.behind), strict=True)
        ]
        for tree, region in pairs:
            if region.rough is not None and not region.made:
                free &= ~self._meets(tree, sets, region.rough)
        for tree, region in pairs:
            if free.any():
                free &= ~self._meets(tree, sets, region)
        return free

    def _meets(self, tree: WingTree, sets: Ints, region: Region) -> Bools:
        """The same question for the same array is asked once for each end that can be behind."""
        key = (id(tree), id(region))
        last = self._asked.get(key)
        if last is None or last[0] is not sets:
            last = self._asked[key] = (sets, tree.meets(sets, region))
        return last[1]

    def prices(self, way: Candidate, sets: Ints) -> Floats:
        """Price of the way by itself for each set and datum (edge, formed face); infinite where impossible."""
        prices = np.full((len(sets), 2), np.inf)
        chosen = np.flatnonzero(self.clear(way, sets))
        if len(chosen):
            prices[chosen] = self._priced(way, sets[chosen])
        return prices

    def _priced(self, way: Candidate, sets: Ints) -> Floats:
        problem, option = self.problem, self.option(way)
        prices = np.zeros((len(sets), 2))
        if problem.gauge is None:
            prices[:, 1] = np.inf
        else:
            _, behind = self.wings(way)
            prices += self._gauging.prices(way.operation, way.behind, behind, behind.leaves(sets))
        prices += own_price(problem.costs, option) + self._mark_s(way) + self._strokes_s(way, sets)[:, None]
        if problem.hold is not None:
            prices += self._held_s(way, sets, problem.hold)[:, None]
        for item in self.exclusions.get(way.operation, ()):
            if item.covers(way):
                struck = (sets & item.mask) == item.value
                prices[struck, slice(None) if item.datum is None else item.datum] += item.price
        return prices

    def _mark_s(self, way: Candidate) -> float:
        """The wish against the good face on the die, where the bend could be made with the other there."""
        good = self.problem.marked_face_good
        if good is None or side_up(self.problem, self.problem.operations[way.operation]) is not None:
            return 0.0
        return 0.0 if way.marked_up == good else self.problem.costs.mark

    def _strokes_s(self, way: Candidate, sets: Ints) -> Floats:
        """Seconds of the strokes of a way for a straight pull, or less where sliding the part off might take less."""
        if not self._timed(way):
            return np.zeros(len(sets))
        pulled = self.strokes_s(way, sets, self.straight_pulls_mm(way, sets))
        if not self.problem.side_exit_allowed:
            return pulled
        sheet = np.full(len(sets), self.problem.chain.thickness_mm)
        least: Floats = np.minimum(pulled, self.problem.costs.side_exit + self.strokes_s(way, sets, sheet))
        return least

    def _timed(self, way: Candidate) -> bool:
        return any(hit.time is not None for hit in self.option(way).hits)

    def strokes_s(self, way: Candidate, sets: Ints, least_mm: Floats) -> Floats:
        """Seconds of the strokes of a way for openings, the handler's share included."""
        seconds, reach, front = np.zeros(len(sets)), self.reaches_mm(way, sets), self.fronts_mm(way, sets)
        for hit in self.option(way).hits:
            if hit.time is not None:
                seconds += self.problem.costs.share * hit.time.seconds(least_mm, reach, front)
        return seconds

    def dearer_s(self, way: Candidate, done: int, *, least_mm: float, slid_s: float = 0.0) -> float:
        """What a step takes beyond the strokes reckoned with, for the opening it needs and the way it leaves."""
        sets = np.array([done])
        strokes = self.strokes_s(way, sets, np.array([least_mm]))
        return float(strokes[0] - self._strokes_s(way, sets)[0]) + slid_s

    def reaches_mm(self, way: Candidate, sets: Ints) -> Floats:
        """How far the part reaches from the bend line before the hit, to either side."""
        front, behind = self.wings(way)
        reach: Floats = np.maximum(front.ends_of(sets)[:, WingTree.REACH], behind.ends_of(sets)[:, WingTree.REACH])
        return reach

    def fronts_mm(self, way: Candidate, sets: Ints) -> Floats:
        """How far the part reaches out in front of the die's centre plane before the hit."""
        front, _ = self.wings(way)
        half_mm = half_span_mm(self.problem, self.problem.operations[way.operation])
        fronts: Floats = front.ends_of(sets)[:, WingTree.FAR] + half_mm
        return fronts

    def lying(self, way: Candidate, sets: Ints, rule: HoldRule) -> Lying:
        """How the part lies on the die before the hit."""
        problem, operation = self.problem, self.problem.operations[way.operation]
        front, behind = self.wings(way)
        to_start, to_end = developed_mm(problem, operation)
        back, ahead = (to_start, to_end) if way.behind == START else (to_end, to_start)
        return lying(
            rule,
            half_mm=half_span_mm(problem, operation),
            ahead_mm=ahead,
            back_mm=back,
            edges_mm=die_edges_mm(operation, way.option),
            fronts=front.ends_of(sets),
            backs=behind.ends_of(sets),
        )

    def hold(self, way: Candidate, done: int) -> Hold | None:
        """How the part is held at one step; None where that is not looked at."""
        rule = self.problem.hold
        if rule is None:
            return None
        return held(rule, self.lying(way, np.array([done]), rule))

    def wishes(self, way: Candidate, done: int, *, datum: int) -> tuple[tuple[str, float], ...]:
        """What a step costs for wishes that take no time, each by its name; wishes that are met are left out."""
        rule, sets = self.problem.hold, np.array([done])
        found = {"tools": self.option(way).cost, "marks": self._mark_s(way)}
        if self.problem.gauge is not None:
            _, behind = self.wings(way)
            found["gauging"] = float(
                self._gauging.prices(way.operation, way.behind, behind, behind.leaves(sets))[0, datum]
            )
        if rule is not None:
            found["holding"] = wishes_s(rule, self.lying(way, sets, rule))
        return tuple((name, seconds) for name, seconds in found.items() if seconds)

    def _held_s(self, way: Candidate, sets: Ints, rule: HoldRule) -> Floats:
        lies = self.lying(way, sets, rule)
        return wishes_s(rule, lies) + BREACH_S * breaches(rule, lies)

    def straight_pulls_mm(self, way: Candidate, sets: Ints) -> Floats:
        """Opening with which the part comes straight out to the front: what stands up behind, over what hangs behind.

        What hangs in front hangs before the die block and comes away as it is. A wing behind without bends slips out
        along its own slope as soon as the bend has come over the die block's front edge: under the nose it is then
        e tan(a) + t/cos(a) high, with the half turn a and the edge e in front of the centre plane, and the nose's own
        arc adds at most r (1/cos(a) - 1); or it needs what it rises by, if that is less (plane geometry, derived here).
        Without a die block none of this is known, and what is found is less than with any.
        """
        problem, operation = self.problem, self.problem.operations[way.operation]
        _, behind = self.wings(way)
        leaves = behind.leaves(sets)
        backs, plain = behind.ends[leaves], behind.firsts[leaves] == NO_LEVEL
        thickness = problem.chain.thickness_mm
        low = -np.minimum(0.0, backs[:, WingTree.LOW])
        risen = np.maximum(backs[:, WingTree.TOP], backs[:, WingTree.TOP_RISEN])
        edges = die_edges_mm(operation, way.option)
        if edges is None:
            least: Floats = np.where(plain, 0.0, np.maximum(0.0, risen)) + low + thickness
            return least
        half = math.radians(self._half_turn_deg(way))
        radius = max(0.0, problem.chain.radii_mm[operation.zones[0]])
        risen = risen + (radius + thickness / 2) * (1 - math.cos(half))
        slips = max(edges[1], 0.0) * math.tan(half) + (thickness + radius) * (1 / math.cos(half) - 1)
        risen = np.where(plain, np.minimum(risen, slips), risen)
        pulled: Floats = np.maximum(0.0, risen) + low + thickness
        return pulled

    def _half_turn_deg(self, way: Candidate) -> float:
        """How far a leg is up at the bottom of the stroke, the hit that turns it most."""
        hits = self.option(way).hits
        return min(89.0, max((hit.loaded_turn_deg / 2 for hit in hits if hit.kind == "swing"), default=0.0))
