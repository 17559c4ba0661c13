"""What is known of a laid-out part before any order of it is searched, whatever usable pairs it takes."""

import operator
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property

from flangewise.jobs.blanks import Alike, Box, blank_of, blanks_of, halves, of_box, on_all_blanks
from flangewise.jobs.job import Job
from flangewise.jobs.pairs_by_price import cheapest_weight
from flangewise.jobs.problem import problem_of
from flangewise.pattern import NoBlank
from flangewise.punch_die import usable
from flangewise.sequence import InTheWay, LeastWeight

# So many bends in a row are looked at whether they are shut by themselves, and so many choices of their blanks.
MOST_IN_RUN, MOST_HALVED = 6, 120

# Bends in a row, the first and the last.
Run = tuple[int, int]


def floor_weight(job: Job, than_s: float) -> float:
    """What no plan of a laid-out job weighs less than, whatever usable pairs it takes, on its blank or another.

    Looked for no further than to see that it is more than `than_s`.
    """
    by_blank = blanks_of(job)
    cheapest = cheapest_weight(job, by_blank)
    if cheapest >= than_s:
        return cheapest
    least = LeastWeight(on_all_blanks(job, by_blank))
    bare = least.of()
    return bare if bare >= than_s else max(bare, min(than_s, least.of(bodies=True, below_s=than_s)))


def all_is_shut(job: Job) -> bool:
    """Whether a laid-out job cannot be made whatever usable pairs it takes, on its blank or another.

    What all of them shut, wherever their blanks put it, each of them shuts.
    """
    by_blank = blanks_of(job)
    return LeastWeight(on_all_blanks(job, by_blank)).is_shut


def shut_run(job: Job, by_blank: Sequence[Sequence[Alike]]) -> Run | None:
    """The fewest bends in a row that are shut by themselves on the blank of the first pairs, numbered from 0."""
    own = _on_blank(job, by_blank)
    known = InTheWay([problem_of(own, dict(zip(job.offers, (each[0] for each in by_blank), strict=True)))])
    count = len(by_blank)
    runs = ((at, at + more) for more in range(1, min(count, MOST_IN_RUN)) for at in range(count - more))
    return next((each for each in runs if known.shuts(*each)), None)


def is_shut_on_all(job: Job, by_blank: Sequence[Sequence[Alike]], run: Run, *, most: int = MOST_HALVED) -> bool:
    """Whether bends in a row are shut by themselves with all their pairs, each on its own blank; False: not known.

    What pairs the other bends take does not matter. Where all blanks together do not settle it they are halved.
    """
    first, last = run
    some = [each if first <= bend <= last else each[:1] for bend, each in enumerate(by_blank)]
    everything = on_all_blanks(job, some)
    boxes: list[Box] = [tuple(tuple(range(len(each))) for each in some)]
    for _ in range(most):
        if not boxes:
            break
        box = boxes.pop()
        inside = of_box(some, box)
        try:
            problem = on_all_blanks(_on_blank(job, inside), inside)
        except NoBlank:
            return False
        if not InTheWay([problem]).shuts(first, last):
            if all(len(each) == 1 for each in inside) or job.watch.over():
                return False
            boxes += halves(everything, some, box)
    return not boxes


def _on_blank(job: Job, by_blank: Sequence[Sequence[Alike]]) -> Job:
    """A job on the blank of the first pairs. Raises NoBlank."""
    pairs = dict(job.pairs) | {bend: each[0][0].pair for bend, each in zip(job.offers, by_blank, strict=True)}
    return replace(job, pairs=pairs, pattern=blank_of(job, pairs))


class ShutBends:
    """What is known of the bends of a part that no tools of any machine make, and of the part with another leg."""

    def __init__(self, laid_out: Mapping[str, Job]) -> None:
        """`laid_out`: the part on each machine, with every die that may be taken."""
        self._jobs, self._last = laid_out, len(next(iter(laid_out.values())).offers) - 1

    @cached_property
    def _in_the_way(self) -> InTheWay | None:
        """None where a bend has no tools, or they leave no blank."""
        if any(map(_has_no_blank, self._jobs.values())):
            return None
        return InTheWay(on_all_blanks(job, blanks_of(job)) for job in self._jobs.values())

    @cached_property
    def _run(self) -> Run | None:
        """The fewest bends in a row that are shut by themselves on every machine, where all bends together are not."""
        jobs = tuple(self._jobs.values())
        if self._in_the_way is None or self._is_shut:
            return None
        run = shut_run(jobs[0], blanks_of(jobs[0]))
        return run if run is not None and _is_shut_on_each(self._jobs, run, most=MOST_HALVED) else None

    @cached_property
    def _is_shut(self) -> bool:
        return self._in_the_way is not None and self._in_the_way.shuts(0, self._last)

    @cached_property
    def is_all(self) -> bool:
        """Whether all of the part's bends together are shut."""
        return self._is_shut or self._run is not None

    def whatever_long(self, leg: int) -> bool:
        """Whether bends that a leg is not beside are shut by themselves: then its length helps nothing.

        Tools are offered for a bend by the legs beside it, so those of others are the same.
        """
        if self._run is not None and not self._run[0] < leg <= self._run[1] + 2:
            return True
        known, runs = self._in_the_way, ((leg, self._last), (0, leg - 3))
        return known is not None and any(first < last and known.shuts(first, last) for first, last in runs)

    def with_leg(self, leg: int, laid_out: Mapping[str, Job]) -> bool:
        """Whether a part that differs in a leg alone is shut, as far as the same tools are offered for it."""
        known, own, others = self._in_the_way, tuple(self._jobs.values()), tuple(laid_out.values())
        if known is None or any(map(_differ, own, others)):
            return False
        assert own[0].pattern is not None and others[0].pattern is not None
        longer_mm = others[0].pattern.flats_mm[leg - 1] - own[0].pattern.flats_mm[leg - 1]
        first, last = (0, self._last) if self._run is None else self._run
        if known.shuts(first, last, leg=leg - 1, longer_mm=longer_mm):
            return True
        return self._run is not None and _is_shut_on_each(laid_out, self._run, most=1)


def _is_shut_on_each(laid_out: Mapping[str, Job], run: Run, *, most: int) -> bool:
    return all(is_shut_on_all(job, blanks_of(job), run, most=most) for job in laid_out.values())


def _has_no_blank(job: Job) -> bool:
    return job.pattern is None or not all(map(usable, job.offers.values()))


def _differ(one: Job, other: Job) -> bool:
    """Whether other tools are offered for a part, or they leave no blank of it."""
    names = ([[pair.tools.name for pair in usable(each)] for each in job.offers.values()] for job in (one, other))
    return other.pattern is None or operator.ne(*names)
