"""What is known of a laid-out part before any order of it is searched, whatever usable pairs it takes."""

import operator
from collections.abc import Mapping
from functools import cached_property

from flangewise.jobs.blanks import blanks_of, on_all_blanks
from flangewise.jobs.job import Job
from flangewise.jobs.near_pairs import cheapest_weight
from flangewise.punch_die import usable
from flangewise.sequence import InTheWay, LeastWeight


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
    return LeastWeight(on_all_blanks(job, blanks_of(job))).is_shut


class ShutBends:
    """What is known of the bends of a part that no tools of any machine make, and of the part with another leg."""

    def __init__(self, laid_out: Mapping[str, Job]) -> None:
        """`laid_out`: the part on each machine, with every die that may be taken."""
        self._jobs, self._last = laid_out, len(next(iter(laid_out.values())).offers) - 1
        # Where a bend has no tools, or they leave no blank, nothing is known.
        known = all(job.pattern is not None and all(map(usable, job.offers.values())) for job in laid_out.values())
        self._in_the_way = InTheWay(on_all_blanks(job, blanks_of(job)) for job in laid_out.values()) if known else None

    @cached_property
    def is_all(self) -> bool:
        """Whether all of the part's bends together are shut."""
        return self._in_the_way is not None and self._in_the_way.shuts(0, self._last)

    def whatever_long(self, leg: int) -> bool:
        """Whether bends that a leg is not beside are shut by themselves: then its length helps nothing.

        Tools are offered for a bend by the legs beside it, so those of others are the same.
        """
        known, runs = self._in_the_way, ((leg, self._last), (0, leg - 3))
        return known is not None and any(first < last and known.shuts(first, last) for first, last in runs)

    def with_leg(self, leg: int, laid_out: Mapping[str, Job]) -> bool:
        """Whether a part that differs in a leg alone is shut, as far as the same tools are offered for it."""
        known, own, others = self._in_the_way, tuple(self._jobs.values()), tuple(laid_out.values())
        if known is None or any(map(_differ, own, others)):
            return False
        assert own[0].pattern is not None and others[0].pattern is not None
        longer_mm = others[0].pattern.flats_mm[leg - 1] - own[0].pattern.flats_mm[leg - 1]
        return known.shuts(0, self._last, leg=leg - 1, longer_mm=longer_mm)


def _differ(one: Job, other: Job) -> bool:
    """Whether other tools are offered for a part, or they leave no blank of it."""
    names = ([[pair.tools.name for pair in usable(each)] for each in job.offers.values()] for job in (one, other))
    return other.pattern is None or operator.ne(*names)
