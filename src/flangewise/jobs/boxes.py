"""Which blanks, of all that the usable pairs of a part make, a plan below a weight could be on: bounded many together.

A box holds for each bend some of its blanks. What no plan on any of them weighs less than is reckoned on one of them,
with all that lies beyond a bend taken to be anywhere that the others could put it; where that does not settle the box
it is halved, down to single blanks, which are searched.
"""

import bisect
import heapq
import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from flangewise.jobs.blanks import Alike, Box, alone, halves, of_box, on_all_blanks, on_blank, options_of
from flangewise.jobs.gripped import weight_on_all
from flangewise.jobs.job import Job
from flangewise.jobs.standing import returning
from flangewise.jobs.tool_changes import Changes
from flangewise.pattern import NoBlank
from flangewise.sequence import SAME_COST, LeastWeight

# So many choices of blanks, many or few together, are bounded; then no more is known than of the least that is left.
MOST_BOXES = 6_000
# After so many the best blank of those in hand is searched too, for a plan to hold them against.
FEW_BOXES = 8
# Of the blanks that one pair makes for all bends so many are looked at before many are bounded together.
FEW_ALONE = 2
# What is known of choices of blanks: what those they came from weigh at least, what they do among these, or by
# themselves.
NEW, AMONG, BOUNDED = range(3)
# Of so few bends every change of tools is paid for in what a box weighs at least.
MOST_PAID = 8
# There the blank of the plan that takes the least is searched at once; without any plan so many of them before the
# boxes that they are in are halved.
MOST_AIMED = 4


class _Asked(NamedTuple):
    """The question with all blanks of a box, on the first; and of plans that come back to tools (None: none does)."""

    box: Box
    job: Job
    least: LeastWeight
    back: LeastWeight | None = None


class Boxes:
    """All choices of blanks but the first, bounded together and halved where the bound does not settle them.

    A plan on a blank that one pair makes for all bends needs no change of tools; any other needs one.
    """

    def __init__(self, job: Job, by_blank: Sequence[Sequence[Alike]], least: LeastWeight, *, below_s: float) -> None:
        """`least`: of the question with all of them; `below_s`: what is looked for weighs less, may be lowered."""
        self._job, self._by_blank, self.below_s = job, by_blank, below_s
        self._everything = least.problem
        self._is_paid = len(by_blank) <= MOST_PAID
        self._changes = Changes(job, by_blank, least.problem.costs)
        self._told: set[Box] = {tuple((0,) for _ in by_blank)}
        every: Box = tuple(tuple(range(len(each))) for each in by_blank)
        # Of what was reckoned by itself: what holds for it and all in it.
        self._every, self._around = self._asked(every, job, least), dict[Box, _Asked]()

    def passed_over(self, searched: Iterable[Sequence[str]]) -> None:
        """Single blanks, by the name of the first pair of each bend, that were searched before."""
        numbers = [{alike[0].name: nth for nth, alike in enumerate(each)} for each in self._by_blank]
        for names in searched:
            if all(name in known for name, known in zip(names, numbers, strict=True)):
                self._told.add(tuple((known[name],) for name, known in zip(names, numbers, strict=True)))

    def rising(self, least: float) -> Iterator[tuple[float, Box | None]]:
        """Single blanks with what no plan on them weighs less than, the least first; None for all that are left.

        `least`: the same of all.
        """
        return self._rising_paid(least) if self._is_paid else self._rising(least)

    def _rising_paid(self, least: float) -> Iterator[tuple[float, Box | None]]:
        """The same of few bends."""
        opened, aims = [(least, NEW, self._every.box)], dict[Box, Box | None]()
        aimed = 0
        for count in itertools.count():
            if not opened or opened[0][0] >= self.below_s - SAME_COST:
                return
            known, state, box = heapq.heappop(opened)
            if self._job.watch.over() or count > MOST_BOXES:
                yield known, None
                return
            asked, is_one = self._around.get(box, self._every), all(len(kept) == 1 for kept in box)
            one = box if is_one else aims.get(box)
            may_aim = is_one or math.isfinite(self.below_s) or aimed < MOST_AIMED
            if state != NEW and one is not None and one not in self._told and may_aim:
                self._told.add(one)
                aimed += 1
                if math.isinf(self.below_s) or self._is_open(one):
                    yield known, one
            if state == BOUNDED or (state == AMONG and (is_one or box == asked.box)):
                is_halved = one is None or one not in self._told
                parts = halves(self._everything, self._by_blank, box) if is_halved else without(box, one or box)
                for part in parts if not is_one else ():
                    self._around[part] = asked
                    heapq.heappush(opened, (known, NEW, part))
            elif known < self.below_s - SAME_COST:
                own = asked if state == NEW else self._by_itself(box)
                if own is not None:
                    found, aims[box] = self._paid(own, box)
                    known = max(known, found, 0.0 if state == NEW else self._held(own, max(known, found))[0])
                heapq.heappush(opened, (known, state + 1, box))

    def _is_open(self, one: Box) -> bool:
        """Whether a plan on a single blank could be less, told by that blank alone."""
        own = self._by_itself(one)
        return own is not None and self._paid(own, one)[0] < self.below_s - SAME_COST

    def _paid(self, asked: _Asked, box: Box) -> tuple[float, Box | None]:
        """What no plan on the blanks of a box weighs less than, every change of tools paid for, as all of a wider one
        are reckoned; and the blank of the plan that would (None: there is none)."""
        options = self._options_in(asked.box, box)
        every = (each for each in (asked.least, asked.back) if each is not None)
        weight, taken = min(each.with_changes(options, below_s=self.below_s) for each in every)
        if not taken:
            return weight, None
        starts = [list(itertools.accumulate(map(len, each))) for each in of_box(self._by_blank, asked.box)]
        at = zip(asked.box, starts, taken, strict=True)
        return weight, tuple((kept[bisect.bisect_right(ends, number)],) for kept, ends, number in at)

    def _rising(self, least: float) -> Iterator[tuple[float, Box | None]]:
        shut, mixed = self._bounds(self._every, self._every.box)
        opened = [(mixed, BOUNDED, False, self._every.box)]
        # A plan on the best of these is soon found; of the others many are settled together with what is about them.
        alike = [(max(least + extra, shut), NEW, True, box) for extra, box in alone(self._everything, self._by_blank)]
        opened, waiting = [*opened, *alike[:FEW_ALONE]], alike[FEW_ALONE:]
        heapq.heapify(opened)
        told, settled = self._told, list[Box]()
        for count in itertools.count():
            if waiting and (count == FEW_BOXES or not opened or opened[0][0] >= self.below_s - SAME_COST):
                opened, waiting = [*opened, *waiting], []
                heapq.heapify(opened)
            if not opened or opened[0][0] >= self.below_s - SAME_COST:
                return
            known, state, is_alone, box = heapq.heappop(opened)
            if any(all(set(few) <= set(all_of) for all_of, few in zip(wide, box, strict=True)) for wide in settled):
                continue
            if self._job.watch.over() or count > MOST_BOXES:
                yield known, None
                return
            one: Box = tuple(kept[:1] for kept in box)
            if state == BOUNDED and (one == box or count > FEW_BOXES):
                if one not in told:
                    told.add(one)
                    yield known, one
                if one == box:
                    continue
            unchanged, changed = self._bound(box, state)
            if min(unchanged, changed) >= self.below_s - SAME_COST:
                settled.append(box)
            bound = max(known, unchanged if is_alone else changed)
            if state == BOUNDED:
                for half in halves(self._everything, self._by_blank, box):
                    self._around[half] = self._around.get(box, self._every)
                    heapq.heappush(opened, (bound, NEW, is_alone, half))
            else:
                heapq.heappush(opened, (bound, BOUNDED, is_alone, box))

    def _bound(self, box: Box, state: int) -> tuple[float, float]:
        """What no plan on some blanks weighs less than, as all are reckoned together or they by themselves.

        With as many changes of tools as there must be, and with one at least.
        """
        asked = self._around.get(box, self._every)
        if state == NEW:
            return self._bounds(asked, box)
        own = None if box == self._every.box else self._by_itself(box)
        if own is None:
            return 0.0, 0.0
        unchanged, changed = self._bounds(own, box)
        held, once = self._held(own, min(unchanged, changed))
        return max(unchanged, held), max(changed, once)

    def _by_itself(self, box: Box) -> _Asked | None:
        """The question with the blanks of a box alone, on the first of them; None where that is no blank."""
        by_blank, wide = of_box(self._by_blank, box), self._around.get(box, self._every)
        try:
            own = on_blank(self._job, by_blank)
        except NoBlank:
            return None
        options, on_all = self._options_in(wide.box, box), on_all_blanks(own, by_blank)
        least = LeastWeight(on_all, each_held=True, within=wide.least, options=options)
        asked = self._asked(box, own, least)
        if self._is_paid or least.is_each_apart:
            self._around[box] = asked
        return asked

    def _asked(self, box: Box, job: Job, least: LeastWeight) -> _Asked:
        problem = least.problem
        hemmed = any(len(option.hits) > 1 for operation in problem.operations for option in operation.options)
        # What is asked of hems is asked of plans that come back as well.
        back = returning(job, problem) if self._is_paid and not hemmed else None
        return _Asked(box, job, least, None if back is None else least.at(back.costs))

    def _options_in(self, wide: Box, box: Box) -> list[list[int]]:
        """The choices of tools of a box, as they are numbered in one that holds it."""
        own = tuple(tuple(map(kept.index, some)) for kept, some in zip(wide, box, strict=True))
        return options_of(of_box(self._by_blank, wide), own)

    def _bounds(self, asked: _Asked, box: Box) -> tuple[float, float]:
        """What no plan on the blanks of a box weighs less than, as all of a wider one are reckoned.

        With as many changes of tools as there must be, and with one at least.
        """
        often, change_s, more_s = self._least_changes(box)
        most, options = max(often, 1), self._options_in(asked.box, box)
        found = asked.least.leasts(options, below_s=self.below_s, changes=most, change_s=change_s)
        return found[often] + more_s, found[most] + more_s

    def _held(self, own: _Asked, known: float) -> tuple[float, float]:
        """The same with its grips, where a gripper holds the part, of a box whose order alone leaves it open."""
        if own.job.handler.gripper is None or known >= self.below_s - SAME_COST:
            return 0.0, 0.0
        held = weight_on_all(own.job, own.least.problem, own.least, self.below_s)
        often, change_s, more_s = self._least_changes(own.box)
        once = held + max(often, 1) * change_s + more_s
        return once if often else held + more_s, once

    def _least_changes(self, box: Box) -> tuple[int, float, float]:
        """How often a plan changes its tools at least, what a change costs at least, what tools cost besides."""
        own = options_of(self._by_blank, box)
        often, more_s = self._changes.counted(own)
        return often, self._changes.least_s(own), more_s


def without(box: Box, one: Box) -> Iterator[Box]:
    """The choices of blanks of a box but a single one, in boxes: by the first bend that has another blank than it."""
    for bend, (kept, (nth,)) in enumerate(zip(box, one, strict=True)):
        if others := tuple(each for each in kept if each != nth):
            yield (*one[:bend], others, *box[bend + 1 :])
