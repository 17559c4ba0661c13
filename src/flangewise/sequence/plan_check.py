"""The closer look at the steps of a plan: what is too dear to ask of every set of operations."""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from flangewise.clearance import Meeting, pieces_meet, wings_meet
from flangewise.geometry import Path
from flangewise.sequence.candidates import Candidate, Exclusion
from flangewise.sequence.contact import StopContact, contact
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.forward import Choice, Look
from flangewise.sequence.moves import moves_between, tool_price
from flangewise.sequence.opening import (
    Opening,
    caught_by,
    least_opening_mm,
    opening_at,
    pulls_straight,
    straight_opening,
    tilted_at,
)
from flangewise.sequence.placing import FULL, part_path, wing_paths
from flangewise.sequence.problem import SectionProblem, StopTravel
from flangewise.sequence.regions import stroke_of
from flangewise.sequence.seconds import travel_s
from flangewise.sequence.solution import Against, Blocker, End


class PlanCheck:
    """Takes the closer look and remembers what it saw, so that no step is looked at twice."""

    def __init__(self, feasibility: FeasibilityTable) -> None:
        """Nothing seen yet. `lacks_way_out`: whether a step was passed over for want of a way out alone."""
        self._problem = feasibility.problem
        self._feasibility = feasibility
        self._seen: set[tuple[str, Candidate, int, int]] = set()
        self._found: list[Exclusion] = []
        self._tilts: dict[tuple[Candidate, int], Opening] = {}
        self.failed = 0
        self.lacks_way_out = False

    @property
    def quick_looks(self) -> tuple[Look, ...]:
        """What is looked at in turn at each step: what was found so far, the stops and their way."""
        return self._known, self._at_stops

    @property
    def looks(self) -> tuple[Look, ...]:
        """The same, and last and dearest the shapes."""
        return self._known, self._at_stops, self._at_shapes

    def finds_more(self, plan: Sequence[Choice]) -> bool:
        """Look at the shapes of a whole plan, until a step cannot be made; whether anything came to light."""
        return self.found_s(plan) > 0

    def found_s(self, plan: Sequence[Choice]) -> float:
        """What came to light of a plan's shapes that was not known, in seconds; infinite where it cannot be made."""
        more_s = 0.0
        for step in plan:
            more_s += self._at_shapes(None, step)[0]
            if math.isinf(more_s):
                break
        return more_s

    def _known(self, _before: Choice | None, step: Choice) -> tuple[float, float]:
        """What was found of a step since the table was made."""
        more_s = self._price_s(self._found, step)
        self.failed += math.isinf(more_s)
        return more_s, 0.0

    def _price_s(self, found: Sequence[Exclusion], step: Choice) -> float:
        """What exclusions say of a step that is not in the prices of the table."""
        spoken = [each for each in found if self._speaks(each, step)]
        more_s = sum(each.price for each in spoken if not each.is_caught)
        if any(each.is_caught for each in spoken) and not self._is_caught(step, self._known_of(step)):
            more_s += self._slid_more_s(step)
        return more_s

    def _known_of(self, step: Choice) -> Sequence[Exclusion]:
        return self._feasibility.exclusions.get(step.way.operation, ())

    def _is_caught(self, step: Choice, known: Sequence[Exclusion]) -> bool:
        """Whether it is known that the part does not leave level at a step."""
        return any(each.is_caught and self._speaks(each, step) for each in known)

    def _slid_more_s(self, step: Choice) -> float:
        feasibility, way = self._feasibility, step.way
        return float(feasibility.slid_more_s(feasibility.presented(way), feasibility.at_step(way, step.done))[0, 0])

    def _at_stops(self, before: Choice | None, step: Choice) -> tuple[float, float]:
        """What the stops touch, and how long the step waits for them after another."""
        more_s = self._newly(self._stops, step)
        return more_s, 0.0 if before is None or math.isinf(more_s) else self.waits_s(before, step)

    def _at_shapes(self, _before: Choice | None, step: Choice) -> tuple[float, float]:
        """The part against itself, and its way in and out."""
        more_s = self._newly(self._meeting, step)
        return more_s if math.isinf(more_s) else more_s + self._newly(self._exit, step), 0.0

    def _newly(self, find: Callable[[Choice], tuple[Exclusion, ...]], step: Choice) -> float:
        """What a step costs more by what is found of it; nothing where it was found before the table was made."""
        key = (find.__name__, step.way, step.done, step.datum)
        if key in self._seen:
            return 0.0
        self._seen.add(key)
        found = find(step)
        more_s = self._price_s(found, step)
        self._found.extend(found)
        self.failed += more_s > 0
        return more_s

    def learned(self) -> bool:
        """Put what was found since the last table into the prices of the next; whether there was anything."""
        found, self._found, self.failed = self._found, [], 0
        self._feasibility.remember(found)
        return bool(found)

    def _speaks(self, item: Exclusion, step: Choice) -> bool:
        return item.covers(step.way) and step.done & item.mask == item.value and item.datum in (None, step.datum)

    def opening(self, choice: Choice) -> Opening | None:
        """What is known of a step's opening, None where exits are not looked at."""
        if not self._problem.check_exits:
            return None
        if (choice.way, choice.done) in self._tilts:
            return self._tilts[choice.way, choice.done]
        pulled_mm = self._feasibility.straight_pull_mm(choice.way, choice.done)
        asked, shapes = (self._problem, choice.way, choice.done), self._feasibility.shapes
        in_hand = self._feasibility.opens_with_margin(choice.way, choice.done, pulled_mm)
        if in_hand and pulls_straight(*asked, shapes=shapes, straight_pull_mm=pulled_mm):
            return straight_opening(*asked, straight_pull_mm=pulled_mm)
        return opening_at(*asked, shapes=shapes, likely_mm=pulled_mm)

    def waits_s(self, before: Choice, after: Choice) -> float:
        """Seconds by which the stops' way to the next place is longer than the handling meanwhile."""
        travel = self._problem.stop_travel
        if travel is None:
            return 0.0
        one, other = (self.contact(each).gauging for each in (before, after))
        if one is None or other is None:
            return 0.0
        way_s = travel_s(abs(other.x_mm - one.x_mm), travel.speed_mm_per_s, travel.acceleration_mm_per_s2)
        return self._problem.costs.share * max(0.0, way_s - self._handled_s(travel, before, after))

    def _handled_s(self, travel: StopTravel, before: Choice, after: Choice) -> float:
        """Seconds in which the part is out of the way of the stops."""
        costs = self._problem.costs
        moves = sum(move.cost for move in moves_between(costs, before.pose, after.pose))
        change = tool_price(costs, self._feasibility.option(before.way).exit, self._feasibility.option(after.way).entry)
        if not moves and not change:
            return travel.next_stop_s
        return travel.next_stop_s + (moves + costs.rehandle) / costs.share + (travel.shift_s if change else 0.0)

    def contact(self, choice: Choice) -> StopContact:
        """What the stops touch at a step, or what is in their way."""
        kept, key = self._feasibility.shapes.contacts, (choice.way, choice.done, choice.datum)
        if key not in kept:
            kept[key] = contact(self._problem, choice.way, choice.done, datum=choice.datum)
        return kept[key]

    def _meeting(self, choice: Choice) -> tuple[Exclusion, ...]:
        return self_meeting(self._problem, choice.way, choice.done) if self._problem.check_self else ()

    def _stops(self, choice: Choice) -> tuple[Exclusion, ...]:
        problem, way = self._problem, choice.way
        if problem.gauge is None:
            return ()
        seen = self.contact(choice)
        if seen.gauging is not None:
            return ()
        mask = wing_mask(problem, way)
        why = blocker(way, choice.done, mask, against="stop", bodies=seen.obstacles, overlap_mm=None)
        return (Exclusion(way.operation, mask, choice.done & mask, way.option, way.behind, choice.datum, blocker=why),)

    def _exit(self, choice: Choice) -> tuple[Exclusion, ...]:
        problem, way = self._problem, choice.way
        if not problem.check_exits:
            return ()
        shapes, pulled_mm = self._feasibility.shapes, self._feasibility.straight_pull_mm(way, choice.done)
        mask, opening = ((1 << len(problem.operations)) - 1) & ~(1 << way.operation), None
        if not pulls_straight(problem, way, choice.done, shapes=shapes, straight_pull_mm=pulled_mm):
            opening = opening_at(problem, way, choice.done, shapes=shapes, likely_mm=pulled_mm)
        if opening is None or opening.lift_mm is not None:
            # It may open more than the search reckons with, which takes sliding off where that is less.
            more = self._feasibility.dearer_s(way, choice.done, least_mm=least_opening_mm(opening, pulled_mm))
            wider = Exclusion(way.operation, mask, choice.done, way.option, way.behind, price=more)
            return (wider,) if more > 0 else ()
        # What is reckoned with already where it is known not to leave level.
        is_caught = self._is_caught(choice, (*self._known_of(choice), *self._found))
        known_s = self._slid_more_s(choice) if is_caught else 0.0
        slid = opening.side_exit and problem.side_exit_allowed
        tilted = None if slid else self._tilted(way, choice.done, mask)
        if tilted is not None:
            return (replace(tilted, price=max(tilted.price - known_s, 0.0)),)
        if slid and is_caught:
            return ()
        decides = caught_by(problem, way, choice.done, shapes=shapes, likely_mm=pulled_mm) if slid else None
        mask = mask if decides is None else decides
        why = blocker(way, choice.done, mask, against="exit", bodies=("punch", "part"), overlap_mm=None)
        self.lacks_way_out = self.lacks_way_out or not slid
        found = Exclusion(way.operation, mask, choice.done & mask, way.option, way.behind, is_caught=slid, blocker=why)
        return (found,)

    def _tilted(self, way: Candidate, done: int, mask: int) -> Exclusion | None:
        """What a step costs more that is left, or come to, tilted; None where no such way was found.

        Another that was not found may open less: so nothing is proven of it either.
        """
        problem, feasibility = self._problem, self._feasibility
        if problem.costs.tilt is None:
            return None
        pulled_mm, front_mm = feasibility.straight_pull_mm(way, done), feasibility.front_mm(way, done)
        found = tilted_at(problem, way, done, shapes=feasibility.shapes, pulled_mm=pulled_mm, front_mm=front_mm)
        if found is None or found.tilted is None or found.open_height_mm is None:
            return None
        self.lacks_way_out = True
        self._tilts[way, done] = found
        least_mm = found.open_height_mm if problem.side_exit_allowed else max(found.open_height_mm, pulled_mm)
        tilt_s = problem.costs.tilt * found.tilted.count
        price = feasibility.dearer_s(way, done, least_mm=least_mm, slid_s=tilt_s)
        return Exclusion(way.operation, mask, done, way.option, way.behind, price=price)


def self_meeting(problem: SectionProblem, way: Candidate, done: int) -> tuple[Exclusion, ...]:
    """Whether the part meets itself while an operation is made, said as generally as it is true.

    It depends only on the operations between the two pieces that meet.
    """
    meeting = meeting_of(problem, way, done)
    if meeting is None:
        return ()
    mask = between_mask(problem, meeting.front_span, meeting.behind_span) & ~(1 << way.operation)
    piece = meeting.behind_span
    why = blocker(way, done, mask, against="self", bodies=("part", "part"), overlap_mm=meeting.overlap_mm, piece=piece)
    options = problem.operations[way.operation].options
    alike = len({tuple(hit.loaded_turn_deg for hit in option.hits) for option in options}) == 1
    return (Exclusion(way.operation, mask, done & mask, None if alike else way.option, blocker=why),)


def blocker(
    way: Candidate,
    done: int,
    mask: int,
    *,
    against: Against,
    bodies: tuple[str, ...],
    overlap_mm: float | None,
    piece: int | None = None,
    stack: str | None = None,
) -> Blocker:
    """A reason why a way fails after `done`, said for the operations in `mask` only."""
    whole = against == "self"
    end: End = "end" if way.behind else "start"
    return Blocker(
        operation=way.operation,
        bent=bits(done & mask),
        flat=bits(mask & ~done),
        against=against,
        bodies=bodies,
        overlap_mm=overlap_mm,
        piece=piece,
        stack=stack,
        marked_up=None if whole else way.marked_up,
        behind=None if whole else end,
        step=done.bit_count() + 1,
    )


def bits(number: int) -> tuple[int, ...]:
    """Operations in a set."""
    return tuple(index for index in range(number.bit_length()) if number >> index & 1)


def wing_mask(problem: SectionProblem, way: Candidate) -> int:
    """Operations on the wing behind."""
    below = (1 << way.operation) - 1
    return ((1 << len(problem.operations)) - 1) & ~below & ~(1 << way.operation) if way.behind else below


def meeting_of(problem: SectionProblem, way: Candidate, done: int) -> Meeting | None:
    """The worst meeting of the part with itself in an operation; of a pressed hit that at its end."""
    operation = problem.operations[way.operation]
    zones = {2 * zone + 1 for zone in operation.zones}
    for number, hit in enumerate(operation.options[way.option].hits):
        if hit.kind == "swing":
            front, behind = wing_paths(problem, way, done)
            found = wings_meet(front, behind, stroke_of(problem.chain, operation, hit))
        else:
            path = part_path(problem, way, done, hit=number, share=FULL)
            rows = [row for row, span in enumerate(path.spans) if int(span) in zones]
            first, last = rows[0], rows[-1] + 1
            behind = Path(path.points_mm[:first], path.normals[:first], path.spans[:first]).backward()
            front = Path(path.points_mm[last:], path.normals[last:], path.spans[last:])
            found = pieces_meet(front, behind, thickness_mm=problem.chain.thickness_mm)
        if found is not None:
            return found
    return None


def between_mask(problem: SectionProblem, one_span: int, other_span: int) -> int:
    """Bits of the operations with a zone at or between two pieces of the section."""
    low, high = min(one_span, other_span), max(one_span, other_span)
    within = [any(low <= 2 * zone + 1 <= high for zone in operation.zones) for operation in problem.operations]
    return sum(1 << index for index, own in enumerate(within) if own)
