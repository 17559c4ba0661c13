"""What a step costs by itself: handling, strokes for the opening and reach of the part, how it lies, wishes.

By the state of the wings beside it. On a problem with slack it is the least on any of the blanks.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from flangewise.sequence.arrays import Floats, Ints
from flangewise.sequence.candidates import Candidate, Pose, Presentation
from flangewise.sequence.gauging import GaugeTable, WingBehind
from flangewise.sequence.hold import (
    Hold,
    Lying,
    die_edges_mm,
    held,
    lying,
    weights_s,
    wishes_s,
)
from flangewise.sequence.moves import END, START, own_price
from flangewise.sequence.problem import Asked, Hit, HoldRule, Operation, SectionProblem, ToolOption
from flangewise.sequence.regions import offset_fits, side_up
from flangewise.sequence.seconds import strokes_of
from flangewise.sequence.stroke_prices import StrokePrices, least_of
from flangewise.sequence.tree import WingTree
from flangewise.sequence.wing_states import (
    AHEAD,
    AHEAD_LONGER,
    AHEAD_SHORTER,
    BACK,
    BACK_LONGER,
    BACK_SHORTER,
    FLATS,
    HALF,
    STOPS,
    STRIP,
    At,
)


class StepPrices(StrokePrices):
    """Prices of candidates by set, as if no tool were in the way; not to be shared between threads."""

    def __init__(self, problem: SectionProblem, trees: dict[tuple[int, bool, bool], WingTree]) -> None:
        """`trees`: the wings known so far."""
        super().__init__(problem, trees)
        self._gauging = GaugeTable(problem)
        self._by_choice: dict[tuple[tuple[int, ...], tuple[float, ...]], tuple[Any, ...]] = {}
        self._single: dict[Candidate, Presentation] = {}
        self._least_held_s: dict[tuple[Pose, bytes], float] = {}
        self._presentations: dict[int, tuple[Presentation, ...]] = {}
        self._some: dict[tuple[int, tuple[int, ...]], tuple[Presentation, ...]] = {}
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
        key = index, tuple(options)
        if key not in self._some:
            self._some[key] = tuple(some for made in every if len((some := made.only(options)).options))
        return self._some[key]

    def _presented(self, index: int, marked_up: bool, behind: int, *, numbers: Sequence[int]) -> Presentation:
        mark_s = self._mark_s(index, marked_up=marked_up)
        own_s, *others = self._columns(index, tuple(numbers))
        return Presentation(index, marked_up, behind, np.array(numbers), own_s + mark_s, *others)

    def _columns(self, index: int, numbers: tuple[int, ...]) -> tuple[Any, ...]:
        """What of some choices of tools is the same in every pose, in the order of a presentation's fields."""
        problem, operation = self.problem, self.problem.operations[index]
        options, zone = [operation.options[number] for number in numbers], operation.zones[0]
        sheet = len(operation.zones), problem.chain.zones_mm[zone], problem.chain.radii_mm[zone]
        key = tuple(map(id, options)), sheet
        if key not in self._by_choice:
            half_turns_deg = ([hit.loaded_turn_deg / 2 for hit in each.hits if hit.kind == "swing"] for each in options)
            edges = [die_edges_mm(option) for option in options]
            low, high = (
                np.array([each[side] if each else far for each in edges]) for side, far in ((0, -np.inf), (1, np.inf))
            )
            self._by_choice[key] = (
                np.array([own_price(problem.costs, option) for option in options])[:, None],
                strokes_of([[hit.time for hit in option.hits] for option in options]),
                (low[:, None], high[:, None]),
                np.array([each is None for each in edges])[:, None],
                np.array([min(89.0, max(turned, default=0.0)) for turned in half_turns_deg])[:, None],
                np.array([self._moved_mm(operation, option.hits[0]) for option in options])[:, None],
            )
        return self._by_choice[key]

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

    def handled(self, made: Presentation, sets: Ints) -> Floats:
        """What a pose costs whatever the tools, by set and datum; infinite where the stops find nothing."""
        return self._gauging.prices(self._behind(made, sets))

    def _behind(self, made: Presentation, sets: Ints) -> WingBehind:
        """The wing behind as the stops find it."""
        _, behind = self.wings(made)
        return WingBehind(made.operation, made.behind, behind, behind.leaves(sets), self.between(made)[STOPS])

    def made_s(self, made: Presentation, sets: Ints) -> Floats:
        """Seconds of the strokes and what holding costs: (choices of tools, sets)."""
        return self._made_s(made, self.at(made, sets))

    def _made_s(self, made: Presentation, at: At) -> Floats:
        """The same for parts before a hit."""
        return self._held(made, at, self.strokes_s(made, at))

    def all_made_s(self, made: Presentation) -> Floats:
        """The same for every set without the operation, in the order of `sets_without`."""
        return self._held(made, self.everywhere(made), self.all_strokes_s(made))

    def least_made_s(self, made: Presentation) -> Floats:
        """The same with the best of the choices of tools, by set; with slack what it takes and how it holds apart."""
        some, rule = made.apart, self.problem.hold
        if rule is None or not self.problem.slack:
            return least_of(self.all_made_s(some))
        held_s: Floats = weights_s(rule, self._lying(made.easiest, self.everywhere(made), rule, of_any=True))[0]
        return least_of(self.all_strokes_s(some)) + held_s

    def least_held_s(self, made: Presentation) -> float:
        """What holding costs at least, whatever is bent: nothing lacks, and no part is too small for a hand."""
        rule, key = self.problem.hold, (made.pose, made.options.tobytes())
        if rule is None:
            return 0.0
        if key not in self._least_held_s:
            lies = self._lying(made.easiest, self.at(made, np.zeros(1, dtype=np.int64)), rule)
            best = replace(lies, front_mm=np.array([np.inf]), behind_nm=np.zeros(1), small=False)
            self._least_held_s[key] = float(weights_s(rule, best).min())
        return self._least_held_s[key]

    def _held(self, made: Presentation, at: At, seconds: Floats) -> Floats:
        """Seconds of strokes with what holding costs. Dies whose blocks begin and end alike hold alike."""
        rule = self.problem.hold
        if rule is None:
            return seconds
        some, alike = made.held_apart
        held_s: Floats = weights_s(rule, self._lying(some, at, rule))
        return seconds + (held_s if len(held_s) == 1 else held_s[alike])

    def _mark_s(self, index: int, *, marked_up: bool) -> float:
        """The wish against the good face on the die, where the bend could be made with the other there."""
        good = self.problem.marked_face_good
        if good is None or side_up(self.problem, self.problem.operations[index]) is not None:
            return 0.0
        return 0.0 if marked_up == good else self.problem.costs.mark

    def _lying(self, made: Presentation, at: At, rule: HoldRule, *, of_any: bool = False) -> Lying:
        """How the part lies on each die before the hit; `of_any`: on one that stands for all of them."""
        between = at.between.T
        lies = lying(
            rule,
            half_mm=between[HALF],
            ahead_mm=between[AHEAD],
            back_mm=between[BACK],
            edges_mm=made.edges_mm,
            far_mm=at.front.end(WingTree.FAR),
            moments_mm2=(at.front.end(WingTree.MOMENT), at.behind.end(WingTree.MOMENT)),
        )
        if not self.problem.slack:
            return lies
        moved_mm, own_mm = np.abs(made.moved_mm), between[STRIP]
        # What the tools' own strip takes is known of each of them; of any, or of two zones, by how much at most.
        is_known = not of_any and len(self.problem.operations[made.operation].zones) == 1
        strip_mm = (made.moved_mm, made.moved_mm) if is_known else (-own_mm - moved_mm, own_mm + moved_mm)
        ahead_mm, back_mm = between[AHEAD], between[BACK]
        return lies.at_best(
            rule,
            further_mm=at.front.further_mm + made.moved_mm,
            off_mm=at.front.slack_mm + at.behind.slack_mm + moved_mm,
            developed_mm=moved_mm + own_mm + between[FLATS],
            longest_mm=(
                np.maximum(ahead_mm - between[AHEAD_SHORTER], back_mm - between[BACK_SHORTER]) + strip_mm[0],
                np.maximum(ahead_mm + between[AHEAD_LONGER], back_mm + between[BACK_LONGER]) + strip_mm[1],
            ),
        )

    def hold(self, way: Candidate, done: int) -> Hold | None:
        """How the part is held at one step; None where that is not looked at."""
        rule = self.problem.hold
        return None if rule is None else held(rule, self._lying(self.presented(way), self.at_step(way, done), rule))

    def wishes(self, way: Candidate, done: int, *, datum: int) -> tuple[tuple[str, float], ...]:
        """What a step costs for wishes that take no time, each by its name; wishes that are met are left out."""
        rule, sets, made = self.problem.hold, np.array([done]), self.presented(way)
        found = {"tools": self.option(way).cost, "marks": self._mark_s(way.operation, marked_up=way.marked_up)}
        if self.problem.gauge is not None:
            found["gauging"] = float(self.handled(made, sets)[0, datum])
        if rule is not None:
            found["holding"] = float(np.ravel(wishes_s(rule, self._lying(made, self.at(made, sets), rule)))[0])
        return tuple((name, seconds) for name, seconds in found.items() if seconds)

    def at_step(self, way: Candidate, done: int) -> At:
        """The wings before one step."""
        return self.at(self.presented(way), np.array([done]))

    def straight_pull_mm(self, way: Candidate, done: int) -> float:
        """The opening with which the part comes straight out to the front at one step."""
        return float(self.straight_pulls_mm(self.presented(way), self.at_step(way, done))[0, 0])

    def dearer_s(self, way: Candidate, done: int, *, least_mm: float, slid_s: float = 0.0) -> float:
        """What a step takes beyond the strokes reckoned with, for the opening it needs and the way it leaves."""
        made, at = self.presented(way), self.at_step(way, done)
        if not made.strokes.groups:
            return slid_s
        return float((self.opened_s(made, at, np.array([least_mm])) - self.least_opened_s(made, at))[0, 0]) + slid_s

    def reach_mm(self, way: Candidate, done: int) -> float:
        """How far the part reaches from the bend line before the hit, to either side."""
        return float(self.at_step(way, done).reaches_mm()[0])

    def front_mm(self, way: Candidate, done: int) -> float:
        """How far it reaches out in front of the die's centre plane then."""
        return float(self.fronts_mm(self.presented(way), self.at_step(way, done))[0])

    def opens_with_margin(self, way: Candidate, done: int, least_mm: float) -> bool:
        """Whether machine and tools open as far as is wanted over the least opening at every hit of a step."""
        front_mm = self.front_mm(way, done)
        return all(hit.time is not None and hit.time.has_in_hand(least_mm, front_mm) for hit in self.option(way).hits)
