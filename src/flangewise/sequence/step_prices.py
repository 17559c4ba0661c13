"""What a step costs by itself: handling, strokes for the opening and reach of the part, how it lies, wishes.

By the state of the wings beside it. On a problem with slack it is the least on any of the blanks.
"""

import itertools
from collections.abc import Collection, Iterator, Sequence

import numpy as np

from flangewise.sequence.arrays import Floats, Ints, alike_in
from flangewise.sequence.candidates import Candidate, Presentation
from flangewise.sequence.gauging import GaugeTable
from flangewise.sequence.hold import (
    Hold,
    Lying,
    developed_mm,
    die_edges_mm,
    half_span_mm,
    held,
    lying,
    weights_s,
    wishes_s,
)
from flangewise.sequence.moves import END, START, own_price
from flangewise.sequence.problem import Asked, Hit, HoldRule, Operation, SectionProblem, Slack, ToolOption
from flangewise.sequence.regions import offset_fits, side_up
from flangewise.sequence.seconds import strokes_of
from flangewise.sequence.tree import NO_LEVEL, WingTree, levels_outward

# Of so few sets it is not looked which are alike.
FEW_SETS = 8


class StepPrices:
    """Prices of candidates by set, as if no tool were in the way; not to be shared between threads."""

    def __init__(self, problem: SectionProblem, trees: dict[tuple[int, bool, bool], WingTree]) -> None:
        """`trees`: the wings known so far."""
        self.problem = problem
        self._trees = trees
        self._gauging = GaugeTable(problem)
        self._single: dict[Candidate, Presentation] = {}
        self._presentations: dict[int, tuple[Presentation, ...]] = {}
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

    def presentations(self, index: int, options: Collection[int] | None = None) -> tuple[Presentation, ...]:
        """The ways of an operation, those of one pose together; only with some of its options if asked."""
        if index not in self._presentations:
            found: dict[tuple[bool, int], list[int]] = {}
            for way in self.candidates[index]:
                found.setdefault((way.marked_up, way.behind), []).append(way.option)
            self._presentations[index] = tuple(
                self._presented(index, *pose, numbers=numbers) for pose, numbers in found.items()
            )
        every = self._presentations[index]
        if options is None:
            return every
        return tuple(some for made in every if len((some := made.only(options)).options))

    def _presented(self, index: int, marked_up: bool, behind: int, *, numbers: Sequence[int]) -> Presentation:
        problem, operation = self.problem, self.problem.operations[index]
        options = [operation.options[number] for number in numbers]
        mark_s = self._mark_s(index, marked_up=marked_up)
        half_turns_deg = ([hit.loaded_turn_deg / 2 for hit in each.hits if hit.kind == "swing"] for each in options)
        edges = [die_edges_mm(option) for option in options]
        low, high = (
            np.array([each[side] if each else far for each in edges]) for side, far in ((0, -np.inf), (1, np.inf))
        )
        return Presentation(
            index,
            marked_up,
            behind,
            np.array(numbers),
            np.array([own_price(problem.costs, option) + mark_s for option in options])[:, None],
            strokes_of([[hit.time for hit in option.hits] for option in options]),
            (low[:, None], high[:, None]),
            np.array([each is None for each in edges])[:, None],
            np.array([min(89.0, max(turned, default=0.0)) for turned in half_turns_deg])[:, None],
            np.array([self._moved_mm(operation, option.hits[0]) for option in options])[:, None],
        )

    def _moved_mm(self, operation: Operation, hit: Hit) -> float:
        """How much further from the middle of a bend than thought its flats end on the blank of the hit's own tools."""
        zone_mm = self.problem.chain.zones_mm[operation.zones[0]]
        return 0.0 if hit.zone_mm is None else hit.leg_moved_mm + (hit.zone_mm - zone_mm) / 2

    def presented(self, way: Candidate) -> Presentation:
        """One way by itself."""
        if way not in self._single:
            pose = (way.operation, way.marked_up, way.behind)
            made = next(each for each in self.presentations(way.operation) if each.pose == pose)
            self._single[way] = made.only((way.option,))
        return self._single[way]

    def option(self, way: Candidate) -> ToolOption:
        """The tools of a way."""
        return self.problem.operations[way.operation].options[way.option]

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

    def handled(self, made: Presentation, sets: Ints) -> Floats:
        """What a pose costs whatever the tools, by set and datum; infinite where the stops find nothing."""
        if self.problem.gauge is None:
            return np.stack([np.zeros(len(sets)), np.full(len(sets), np.inf)], axis=1)
        _, behind = self.wings(made)
        slack_mm = 0.0
        if self.problem.slack:
            _, beyond = self.beyond(made)
            ends_mm = sum(max(each.flat_mm, each.formed_mm) for each in beyond)
            slack_mm = self.problem.slack[made.operation].beside_mm + ends_mm + _corner_mm(beyond)
        return self._gauging.prices(made.operation, made.behind, behind, behind.leaves(sets), slack_mm=slack_mm)

    def _slack_mm(self, made: Presentation, sets: Ints) -> tuple[Floats, Floats]:
        """How far the wing in front and the wing behind of each set may reach elsewhere than thought."""
        if not self.problem.slack:
            return np.zeros(len(sets)), np.zeros(len(sets))
        found = []
        after = made.operation + 1
        for beyond, first in zip(self.beyond(made), (after, 0) if made.behind == START else (0, after), strict=True):
            reach = np.full(len(sets), _corner_mm(beyond))
            for place, each in enumerate(beyond, start=first):
                reach += np.where(sets >> place & 1, each.formed_mm, each.flat_mm)
            found.append(reach)
        return found[0], found[1]

    def beyond(self, way: Candidate | Presentation) -> tuple[tuple[Slack, ...], tuple[Slack, ...]]:
        """The slack of what lies in front of an operation, and behind it."""
        slack = self.problem.slack
        to_start, to_end = slack[: way.operation], slack[way.operation + 1 :]
        return (to_end, to_start) if way.behind == START else (to_start, to_end)

    def made_s(self, made: Presentation, sets: Ints) -> Floats:
        """Seconds of the strokes and what holding costs: (choices of tools, sets)."""
        seconds = self._strokes_s(made, sets)
        rule = self.problem.hold
        if rule is not None:
            # Dies whose blocks begin and end alike hold alike.
            rows, alike = alike_in(*(each[:, 0] for each in (*made.edges_mm, made.moved_mm)))
            some = made if len(rows) == len(alike) else made.only(made.options[rows])
            seconds = seconds + weights_s(rule, self._lying(some, sets, rule))[alike]
        return seconds

    def _mark_s(self, index: int, *, marked_up: bool) -> float:
        """The wish against the good face on the die, where the bend could be made with the other there."""
        good = self.problem.marked_face_good
        if good is None or side_up(self.problem, self.problem.operations[index]) is not None:
            return 0.0
        return 0.0 if marked_up == good else self.problem.costs.mark

    def _strokes_s(self, made: Presentation, sets: Ints) -> Floats:
        """Seconds of the strokes for a straight pull, or less where sliding the part off might take less.

        Ways down and back depend on what is behind and whether the gripper fits in front, the bend on the reach: each
        is reckoned once for all sets that are alike in it.
        """
        if not made.strokes.groups:
            return np.zeros((len(made.options), len(sets)))
        if len(sets) <= FEW_SETS:
            return self._opened_s(made, sets) + self._bent_s(made, sets)
        in_front, behind = self._slack_mm(made, sets)
        beside = np.searchsorted(made.strokes.gripper_reaches_mm(), self._fronts_mm(made, sets), side="right")
        first, alike = alike_in(self.wings(made)[1].leaves(sets), in_front, beside)
        opened = self._opened_s(made, sets[first])[:, alike]
        first, alike = alike_in(self._reaches_mm(made, sets), in_front + behind)
        seconds: Floats = opened + self._bent_s(made, sets[first])[:, alike]
        return seconds

    def _opened_s(self, made: Presentation, sets: Ints) -> Floats:
        pulled = self.opened_s(made, sets, self.straight_pulls_mm(made, sets))
        if not self.problem.side_exit_allowed:
            return pulled
        sheet = np.full(len(sets), self.problem.chain.thickness_mm)
        least: Floats = np.minimum(pulled, self.problem.costs.side_exit + self.opened_s(made, sets, sheet))
        return least

    def opened_s(self, made: Presentation, sets: Ints, least_mm: Floats) -> Floats:
        """Seconds of the ways down and back for openings, the handler's share included: (choices of tools, sets).

        Where the part stands up, hangs down and bends, each may be off.
        """
        if self.problem.slack:
            least_mm = np.maximum(least_mm - 3 * self._off_mm(made, sets), self.problem.chain.thickness_mm)
        return self.problem.costs.share * made.strokes.opened_s(least_mm, self._fronts_mm(made, sets))

    def _bent_s(self, made: Presentation, sets: Ints) -> Floats:
        """Seconds of the bends.

        How fast the end of the part comes up falls with its reach until it is as slow as the ram, and then rises.
        """
        reach = self._reaches_mm(made, sets)
        if not self.problem.slack:
            return self.problem.costs.share * made.strokes.bent_s(reach)
        off = self._off_mm(made, sets)
        nearer, further = (made.strokes.bent_s(np.maximum(reach + by, 0.0)) for by in (-off, off))
        return self.problem.costs.share * np.minimum(nearer, further)

    def _off_mm(self, made: Presentation, sets: Ints) -> Floats:
        """How far the part may be off in all, with slack."""
        in_front, behind = self._slack_mm(made, sets)
        off: Floats = in_front + behind + np.abs(made.moved_mm) + self.problem.slack[made.operation].shape_mm
        return off

    def dearer_s(self, way: Candidate, done: int, *, least_mm: float, slid_s: float = 0.0) -> float:
        """What a step takes beyond the strokes reckoned with, for the opening it needs and the way it leaves."""
        made, sets = self.presented(way), np.array([done])
        if not made.strokes.groups:
            return slid_s
        return float((self.opened_s(made, sets, np.array([least_mm])) - self._opened_s(made, sets))[0, 0]) + slid_s

    def reach_mm(self, way: Candidate, done: int) -> float:
        """How far the part reaches from the bend line before the hit, to either side."""
        return float(self._reaches_mm(self.presented(way), np.array([done]))[0])

    def front_mm(self, way: Candidate, done: int) -> float:
        """How far it reaches out in front of the die's centre plane then."""
        return float(self._fronts_mm(self.presented(way), np.array([done]))[0])

    def opens_with_margin(self, way: Candidate, done: int, least_mm: float) -> bool:
        """Whether machine and tools open as far as is wanted over the least opening at every hit of a step."""
        front_mm = self.front_mm(way, done)
        return all(hit.time is not None and hit.time.has_in_hand(least_mm, front_mm) for hit in self.option(way).hits)

    def _reaches_mm(self, made: Presentation, sets: Ints) -> Floats:
        front, behind = self.wings(made)
        reach: Floats = np.maximum(front.ends_of(sets)[:, WingTree.REACH], behind.ends_of(sets)[:, WingTree.REACH])
        return reach

    def _fronts_mm(self, made: Presentation, sets: Ints) -> Floats:
        """How far the part reaches out in front of the die's centre plane before the hit; with slack, at most."""
        front, _ = self.wings(made)
        half_mm = half_span_mm(self.problem, self.problem.operations[made.operation])
        fronts: Floats = front.ends_of(sets)[:, WingTree.FAR] + half_mm
        return fronts + self._off_mm(made, sets).max(axis=0) if self.problem.slack else fronts

    def _lying(self, made: Presentation, sets: Ints, rule: HoldRule) -> Lying:
        """How the part lies on each die before the hit."""
        problem, operation = self.problem, self.problem.operations[made.operation]
        front, behind = self.wings(made)
        to_start, to_end = developed_mm(problem, operation)
        back, ahead = (to_start, to_end) if made.behind == START else (to_end, to_start)
        lies = lying(
            rule,
            half_mm=half_span_mm(problem, operation),
            ahead_mm=ahead,
            back_mm=back,
            edges_mm=made.edges_mm,
            fronts=front.ends_of(sets),
            backs=behind.ends_of(sets),
        )
        if not problem.slack:
            return lies
        in_front, behind_mm = self._slack_mm(made, sets)
        moved_mm, beyond = np.abs(made.moved_mm), itertools.chain(*self.beyond(made))
        return lies.at_best(
            rule,
            further_mm=in_front + made.moved_mm,
            off_mm=in_front + behind_mm + moved_mm,
            developed_mm=moved_mm + problem.slack[made.operation].beside_mm + sum(each.flat_mm for each in beyond),
        )

    def hold(self, way: Candidate, done: int) -> Hold | None:
        """How the part is held at one step; None where that is not looked at."""
        rule = self.problem.hold
        return None if rule is None else held(rule, self._lying(self.presented(way), np.array([done]), rule))

    def wishes(self, way: Candidate, done: int, *, datum: int) -> tuple[tuple[str, float], ...]:
        """What a step costs for wishes that take no time, each by its name; wishes that are met are left out."""
        rule, sets, made = self.problem.hold, np.array([done]), self.presented(way)
        found = {"tools": self.option(way).cost, "marks": self._mark_s(way.operation, marked_up=way.marked_up)}
        if self.problem.gauge is not None:
            found["gauging"] = float(self.handled(made, sets)[0, datum])
        if rule is not None:
            found["holding"] = float(np.ravel(wishes_s(rule, self._lying(made, sets, rule)))[0])
        return tuple((name, seconds) for name, seconds in found.items() if seconds)

    def straight_pull_mm(self, way: Candidate, done: int) -> float:
        """The same for one step."""
        return float(self.straight_pulls_mm(self.presented(way), np.array([done]))[0, 0])

    def straight_pulls_mm(self, made: Presentation, sets: Ints) -> Floats:
        """Opening with which the part comes straight out to the front: what stands up behind, over what hangs behind.

        For each choice of tools and set.

        What hangs in front hangs before the die block and comes away as it is. A wing behind without bends slips out
        along its own slope as soon as the bend has come over the die block's front edge: under the nose it is then
        e tan(a) + t/cos(a) high, with the half turn a and the edge e in front of the centre plane, and the nose's own
        arc adds at most r (1/cos(a) - 1); or it needs what it rises by, if that is less (plane geometry, derived here).
        Without a die block none of this is known, and what is found is less than with any.
        """
        chain = self.problem.chain
        _, behind = self.wings(made)
        leaves = behind.leaves(sets)
        backs, plain = behind.ends[leaves], behind.firsts[leaves] == NO_LEVEL
        thickness = chain.thickness_mm
        low = -np.minimum(0.0, backs[:, WingTree.LOW])
        half = np.radians(made.half_turns_deg)
        radius = max(0.0, chain.radii_mm[self.problem.operations[made.operation].zones[0]])
        risen = np.maximum(backs[:, WingTree.TOP], backs[:, WingTree.TOP_RISEN])
        risen = risen + np.where(made.bare, 0.0, (radius + thickness / 2) * (1 - np.cos(half)))
        front_edge = np.where(made.bare, 0.0, np.maximum(made.edges_mm[1], 0.0))
        slips = np.where(made.bare, 0.0, front_edge * np.tan(half) + (thickness + radius) * (1 / np.cos(half) - 1))
        pulled: Floats = np.maximum(0.0, np.where(plain, np.minimum(risen, slips), risen)) + low + thickness
        return pulled


def _corner_mm(beyond: Sequence[Slack]) -> float:
    """How far the corner that lies outermost may be off: one of them."""
    return max((each.corner_mm for each in beyond), default=0.0)
