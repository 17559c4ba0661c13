"""The least plan of a part over all its tools, each plan on the blank that its own tools make.

All pairs of the shop are judged for every bend. Those of a bend that form one radius make one blank with any others, so
the search is asked blank by blank: that of the best pairs first, then those of the others while a plan on them could
still weigh less than the best so far. What no plan weighs less than on any of the blanks is reckoned on the first, with
all that lies beyond a bend taken to be anywhere that another blank could put it.
"""

import heapq
import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import replace

from flangewise.jobs.blanks import (
    Alike,
    Box,
    alone,
    blank_of,
    blanks_of,
    halves,
    of_box,
    on_all_blanks,
    options_of,
    still_of_use,
)
from flangewise.jobs.gripped import broken_on_all, held_by_gripper, weight_on_all
from flangewise.jobs.job import Job, Ordered
from flangewise.jobs.pairs_by_price import near_enough
from flangewise.jobs.problem import problem_of
from flangewise.jobs.shut import ShutBends, is_shut_on_all, shut_runs
from flangewise.jobs.standing import as_they_stand
from flangewise.jobs.tool_changes import Changes
from flangewise.pattern import NoBlank
from flangewise.sequence import (
    BREACH_S,
    SAME_COST,
    LeastWeight,
    SearchLimits,
    SectionProblem,
    Shapes,
    shapes_of,
    solve,
)

# So many blanks are searched, with a gripper fewer, since its grips are looked at; where more could still come in below
# the best plan, it is not proven.
MOST_BLANKS, MOST_GRIPPED = 120, 24
# So many choices of blanks, many or few together, are bounded; then no more is known than of the least that is left.
MOST_BOXES = 6_000
# After so many the best blank of those in hand is searched too, for a plan to hold them against; where there is one, no
# longer after so many in vain: as a rule bounds settle the others.
FEW_BOXES, MOST_IN_VAIN = 8, 2
# Of the blanks that one pair makes for all bends so many are looked at before many are bounded together, and in all.
FEW_ALONE, MOST_ALONE = 2, 24
# What is known of choices of blanks: what those they came from weigh at least, or they by themselves.
NEW, BOUNDED = 0, 1
# Where a blank could not be settled, so many others are searched for a plan.
FEW_BLANKS = 6
# Of the time left, what the blank of the best pairs may take before the others are looked at.
FIRST_SHARE = 0.5


def find_order(
    job: Job,
    *,
    below_s: float = math.inf,
    shut: ShutBends | None = None,
    shapes: Shapes | None = None,
    left: Sequence[Sequence[Alike]] | None = None,
) -> Job:
    """A laid-out job with the least plan, its tools and their blank, or the proof that there is none, or neither.

    Only a plan that weighs less than `below_s` is looked for, else that is the lower bound. `shut`: of all machines,
    asked where the first blank has none; `shapes`: as asked quickly; `left`: the pairs that such a plan may take (None:
    all), the first among them in any case. Raises ValueError where a bend has no usable pair.
    """
    by_blank = blanks_of(job) if left is None else left
    if not all(by_blank):
        raise ValueError("a bend has no usable pair")
    only, first = all(len(each) == 1 for each in by_blank), tuple(each[0] for each in by_blank)
    own = job if only or job.watch.quick else replace(job, watch=job.watch.share(FIRST_SHARE))
    # Who only asks whether there is a plan, or what beams find, is not told why there is none.
    tells_why = math.isinf(below_s) and not (job.watch.any_plan or job.watch.quick)
    best = _ordered(own, first, below_s=below_s, tells_why=tells_why, shapes=shapes)
    assert best.ordered is not None
    problem = replace(best.ordered.problem, limits=SearchLimits(watch=job.watch))
    best = replace(best, watch=job.watch, ordered=replace(best.ordered, problem=problem))
    enough = only or job.watch.quick or (job.watch.any_plan and best.solution.feasible)
    if not enough and best.solution.feasible is False and shut is not None and shut.is_all:
        return _as_proven(best, math.inf)
    best = best if enough else _least_of_all(best, by_blank, below_s)
    # With the pairs that were left out there may be a plan, though none that weighs less.
    return _not_proven(best, below_s) if left is not None and best.solution.feasible is False else best


def _least_of_all(first: Job, by_blank: Sequence[Sequence[Alike]], below_s: float) -> Job:
    """The best job after the other blanks; proven as far as no plan on any of them weighs less than a bound."""
    broken = first.solution.breach if first.solution.feasible else math.inf
    broken -= broken_on_all(first, on_all_blanks(first, by_blank), broken) if 0 < broken < math.inf else 0
    if broken <= 0:
        # What a plan takes that weighs less than the one at hand: no plan with anything else does. One that breaks a
        # rule of holding that another may keep leaves room for all pairs.
        always_s = BREACH_S * first.solution.breach
        by_blank = near_enough(first, by_blank, min(below_s, first.weight) - always_s)
        if all(len(each) == 1 for each in by_blank):
            return _as_proven(first, min(first.solution.open_bound, below_s, first.weight))
    everything = on_all_blanks(first, by_blank)
    least = LeastWeight(everything, each_held=True)
    if first.solution.feasible is False and least.is_shut:
        return _as_proven(first, math.inf)
    run = next(shut_runs(first, by_blank), None) if first.solution.feasible is False else None
    if run is not None and is_shut_on_all(first, by_blank, run, most=1):
        return _as_proven(first, math.inf)
    tried = [first]
    if not first.solution.feasible and math.isinf(below_s):
        tried += _alone_in_turn(first, everything, least, by_blank)
    # Where there is none on any of them, what is in the way is told of the first.
    best = next((each for each in reversed(tried) if each.solution.feasible), first)
    if run is not None and not best.solution.feasible and is_shut_on_all(first, by_blank, run):
        return _as_proven(first, math.inf)
    if best.solution.feasible and best.watch.any_plan:
        return _not_proven(best, 0.0)
    below_s = min(below_s, best.weight)
    bound, searched, over = min(each.solution.open_bound for each in tried), 0, first.watch.over
    least, left, floor = _narrowed(first, least, by_blank, below_s)
    if all(len(each) == 1 for each in left):
        return _as_proven(best, min(bound, below_s))
    boxes = _Boxes(first, left, least, below_s=below_s)
    boxes.passed_over(tuple(alike[0].name for alike in each.ordered.offered.values()) for each in tried if each.ordered)
    for known, box in boxes.rising(floor):
        # Where "impossible" can not be proven any more, a plan is looked for on few.
        most = MOST_BLANKS if math.isfinite(boxes.below_s) or math.isinf(bound) else FEW_BLANKS
        most = min(most, MOST_GRIPPED) if first.handler.gripper is not None else most
        if box is None or searched == most or best.watch.over():
            bound = min(bound, known)
            break
        searched += 1
        best.watch.tell(blank=searched + 1, best_s=best.solution.cost, bound_s=max(known - best.solution.broken_s, 0.0))
        try:
            other = _ordered(best, [alike for (alike,) in of_box(left, box)], below_s=boxes.below_s)
        except NoBlank:
            continue
        solution = other.solution
        if solution.feasible and other.weight < boxes.below_s - SAME_COST:
            best, boxes.below_s = other, other.weight
            if over() or best.watch.any_plan:
                return _not_proven(best, min(bound, known))
        if solution.feasible is not False:
            bound = min(bound, solution.least_weight or math.inf)
    return _as_proven(best, min(bound, boxes.below_s))


def _narrowed(
    job: Job, least: LeastWeight, by_blank: Sequence[Sequence[Alike]], below_s: float
) -> tuple[LeastWeight, tuple[tuple[Alike, ...], ...], float]:
    """The blanks that a plan below a weight could take, the question with them, and what no plan weighs less than.

    The fewer they are, the less they differ and the more they shut: so they are held against the least until they stay.
    What a pair costs more than the cheapest is added to a least that takes the cheapest for each bend. One that holds
    each pair against its own shapes does not where those are struck: there the least with nothing in the way is taken.
    """
    left, floor, is_shut = tuple(map(tuple, by_blank)), least.of(below_s=below_s), least.is_each_apart
    while floor < below_s and any(len(each) > 1 for each in left):
        some = still_of_use(least.problem, left, below_s - floor)
        if some != left:
            own = options_of(left, tuple(tuple(map(all_of.index, few)) for all_of, few in zip(left, some, strict=True)))
            least, left = LeastWeight(on_all_blanks(job, some), each_held=True, within=least, options=own), some
            if all(len(each) == 1 for each in left):
                break
        elif is_shut:
            break
        floor, is_shut = max(floor, least.of(bodies=not least.is_each_apart, below_s=below_s)), True
    return least, left, floor


class _Boxes:
    """All choices of blanks but the first, bounded together and halved where the bound does not settle them.

    A plan on a blank that one pair makes for all bends needs no change of tools; any other needs one.
    """

    def __init__(self, job: Job, by_blank: Sequence[Sequence[Alike]], least: LeastWeight, *, below_s: float) -> None:
        """`least`: of the question with all of them; `below_s`: what is looked for weighs less, may be lowered."""
        self._job, self._by_blank, self.below_s = job, by_blank, below_s
        self._everything, self._least = least.problem, least
        self._changes = Changes(job, by_blank, least.problem.costs)
        self._told: set[Box] = {tuple((0,) for _ in by_blank)}
        # Of what was reckoned by itself: the bound that holds for it and all in it, and what it holds.
        every: Box = tuple(tuple(range(len(each))) for each in by_blank)
        self._every, self._around = every, dict[Box, tuple[LeastWeight, Box]]()

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
        shut, mixed = self._bounds(self._least, self._every, self._every)
        # A plan on the best of these is soon found; of the others many are settled together with what is about them.
        alike = [(max(least + extra, shut), NEW, True, box) for extra, box in alone(self._everything, self._by_blank)]
        opened, waiting = [(mixed, BOUNDED, False, self._every), *alike[:FEW_ALONE]], alike[FEW_ALONE:]
        heapq.heapify(opened)
        told, settled, in_vain = self._told, list[Box](), 0
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
            if state == BOUNDED and (one == box or (count > FEW_BOXES and in_vain < MOST_IN_VAIN)):
                if one not in told:
                    told.add(one)
                    than_s = self.below_s
                    yield known, one
                    in_vain = in_vain + 1 if self.below_s == than_s < math.inf else 0
                if one == box:
                    continue
            unchanged, changed = self._bound(box, state)
            if min(unchanged, changed) >= self.below_s - SAME_COST:
                settled.append(box)
            bound = max(known, unchanged if is_alone else changed)
            if state == BOUNDED:
                for half in halves(self._everything, self._by_blank, box):
                    self._around[half] = self._around.get(box, (self._least, self._every))
                    heapq.heappush(opened, (bound, NEW, is_alone, half))
            else:
                heapq.heappush(opened, (bound, BOUNDED, is_alone, box))

    def _bound(self, box: Box, state: int) -> tuple[float, float]:
        """What no plan on some blanks weighs less than, as all are reckoned together or they by themselves.

        With as many changes of tools as there must be, and with one at least.
        """
        least, wide = self._around.get(box, (self._least, self._every))
        if state == NEW:
            return self._bounds(least, wide, box)
        by_blank = of_box(self._by_blank, box)
        if all(len(each) == len(kept) for each, kept in zip(self._by_blank, box, strict=True)):
            return 0.0, 0.0
        pairs = dict(self._job.pairs) | {
            bend: each[0][0].pair for bend, each in zip(self._job.offers, by_blank, strict=True)
        }
        try:
            own = replace(self._job, pairs=pairs, pattern=blank_of(self._job, pairs))
        except NoBlank:
            return 0.0, 0.0
        options, on_all = self._options_in(wide, box), on_all_blanks(own, by_blank)
        least = LeastWeight(on_all, each_held=True, within=least, options=options)
        if least.is_each_apart:
            self._around[box] = least, box
        unchanged, changed = self._bounds(least, box, box)
        if own.handler.gripper is None or min(unchanged, changed) >= self.below_s - SAME_COST:
            return unchanged, changed
        held = weight_on_all(own, on_all, least, self.below_s)
        often, change_s, more_s = self._least_changes(box)
        once = held + max(often, 1) * change_s + more_s
        return max(unchanged, once if often else held + more_s), max(changed, once)

    def _options_in(self, wide: Box, box: Box) -> list[list[int]]:
        """The choices of tools of a box, as they are numbered in one that holds it."""
        own = tuple(tuple(map(kept.index, some)) for kept, some in zip(wide, box, strict=True))
        return options_of(of_box(self._by_blank, wide), own)

    def _bounds(self, least: LeastWeight, wide: Box, box: Box) -> tuple[float, float]:
        """What no plan on the blanks of a box weighs less than, as all of a wider one are reckoned.

        With as many changes of tools as there must be, and with one at least.
        """
        often, change_s, more_s = self._least_changes(box)
        most = max(often, 1)
        found = least.leasts(self._options_in(wide, box), below_s=self.below_s, changes=most, change_s=change_s)
        return found[often] + more_s, found[most] + more_s

    def _least_changes(self, box: Box) -> tuple[int, float, float]:
        """How often a plan changes its tools at least, what a change costs at least, what tools cost besides."""
        own = options_of(self._by_blank, box)
        often, more_s = self._changes.counted(own)
        return often, self._changes.least_s(own), more_s


def _as_proven(best: Job, bound: float) -> Job:
    """The best job where no plan that was not found weighs less than a bound."""
    if best.solution.feasible or math.isfinite(bound):
        return best if bound >= best.weight - SAME_COST else _not_proven(best, bound)
    return best.with_solution(replace(best.solution, feasible=False, lower_bound=None, least_weight=None))


def _alone_in_turn(
    job: Job, everything: SectionProblem, least: LeastWeight, by_blank: Sequence[Sequence[Alike]]
) -> Iterator[Job]:
    """A job without a plan on the blanks that one pair makes for all bends, up to the first on which there is one.

    It leaves few others to be searched. Those that all tools together shut are passed over.
    """
    for _, box in alone(everything, by_blank)[:MOST_ALONE]:
        if job.watch.over():
            return
        if math.isinf(least.of(options_of(by_blank, box), bodies=True)):
            continue
        with suppress(NoBlank):
            other = _ordered(job, [alike for (alike,) in of_box(by_blank, box)], below_s=math.inf)
            yield other
            if other.solution.feasible:
                return


def _ordered(
    job: Job, alike: Sequence[Alike], *, below_s: float, tells_why: bool = False, shapes: Shapes | None = None
) -> Job:
    """The least plan with pairs that make one blank, on it, if it weighs less than that. Raises NoBlank.

    `tells_why`: what is in the way is told where there is none. `shapes`: what was found of them on this blank before.
    """
    offered = dict(zip(job.offers, alike, strict=True))
    pairs = dict(job.pairs) | {bend: each[0].pair for bend, each in offered.items()}
    own = replace(job, pairs=pairs, pattern=blank_of(job, pairs))
    problem = problem_of(own, offered)
    problem = problem if tells_why else replace(problem, tell_blockers=False)
    shapes = shapes or shapes_of(problem)
    found = Ordered(problem, solve(problem, shapes, below_s=below_s), offered, shapes)
    ordered = held_by_gripper(own, as_they_stand(own, found, below_s=below_s), below_s=below_s)
    return replace(own, ordered=ordered, pairs=pairs | {bend: each.pair for bend, each in ordered.taken.items()})


def _not_proven(job: Job, bound: float) -> Job:
    """The answer without a proof; `bound` is what any plan weighs at least."""
    own = job.solution
    known_s = math.inf if own.lower_bound is None else own.lower_bound
    bound_s = bound - own.broken_s
    if job.handler.gripper is not None and bound_s < 0:
        # Whatever its grips, no plan takes fewer seconds than its order does.
        bound_s = bound
    least_s = max(0.0, min(known_s, bound_s))
    known = replace(own, feasible=own.feasible or None, proven_least=False, lower_bound=least_s, least_weight=bound)
    return job.with_solution(known)
