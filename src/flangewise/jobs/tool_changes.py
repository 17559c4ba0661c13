"""What a plan pays at least for going from tools to tools, where only some pairs may be taken."""

import itertools
import math
from collections import Counter
from collections.abc import Hashable, Iterable, Iterator, Sequence

from flangewise.jobs.job import Job
from flangewise.jobs.problem import costs_of, stand_beside
from flangewise.punch_die import Mounting
from flangewise.sequence import Costs


def least_change_s(costs: Costs) -> float:
    """What going from one pair to another costs at least."""
    return costs.station_change + costs.tool_change


class Changes:
    """What plans pay for going from tools to tools at least, where only some pairs are taken."""

    def __init__(self, job: Job, by_blank: Sequence[Sequence[Sequence[Mounting]]], costs: Costs) -> None:
        """`costs`: of the question with all pairs. With hems no more is said of a change between some than of all."""
        self._job, self._costs, self._least_s = job, costs, least_change_s(costs)
        self._choices = [tuple(itertools.chain(*each)) for each in by_blank]
        # Hits that take other tools than the one before them: what an operation costs holds these changes.
        self._inner = sum(max(len(one.numbered) for one in each) - 1 for each in self._choices)
        # What the costs hold of tools that are put in after the first.
        plain = costs_of(job.centre, beside=True, grips_s=job.least_grips_s)
        self._held_s = costs.base - plain.base
        self._between_s: dict[tuple[str, str], float] = {}
        self._hits = [[tools_of(one) for one in each] for each in self._choices]

    def counted(self, options: Sequence[Sequence[int]]) -> tuple[int, float]:
        """How often a plan changes its tools between operations at least, and what it pays for tools besides.

        Hits whose choices share no tools take different ones, and so with punches and dies by themselves. Stations
        beside each other have a punch and a die each and are gone to; else every change puts in what does not stand.
        """
        centre = self._job.centre
        different, punches, dies = (_apart(asked) - 1 for asked in self._asked(options))
        all_s = centre.anew_allowed_s * different + centre.mount_s * max(punches + dies, different)
        if self._costs.stands_beside:
            all_s = min(all_s, (centre.shift_s + 2 * centre.mount_s) * different)
        changes = max(different - self._inner, 0)
        told_s = self._inner * (self._costs.station_change + 2 * self._costs.tool_change)
        told_s += self._held_s + (changes * self.least_s(options) if changes else 0.0)
        return changes, max(all_s - told_s, 0.0)

    def _asked(self, options: Sequence[Sequence[int]]) -> Iterator[list[set[object]]]:
        """What each hit may take: punch and die, the punch, the die. One that not all make asks for none."""
        made = [
            hit
            for choices, numbers in zip(self._hits, options, strict=True)
            for hit in zip(*(choices[number] for number in numbers), strict=False)
        ]
        for part in ((0, 1), (0,), (1,)):
            yield [{tuple(tools[each] for each in part) for tools in hit} for hit in made]

    def least_s(self, options: Sequence[Sequence[int]]) -> float:
        """The least between some choices of one operation and some of another; infinite where all are one pair."""
        if self._inner:
            return self._least_s
        # Of many bends most choose from the same tools.
        some = [tuple(choices[number] for number in each) for choices, each in zip(self._choices, options, strict=True)]
        alike = Counter(tuple(one.name for one in each) for each in some)
        by_names = {names: each for each in some for names in [tuple(one.name for one in each)]}
        least_s = math.inf
        for names, others in itertools.combinations_with_replacement(by_names, 2):
            if names == others and alike[names] == 1:
                continue
            for one, other in itertools.product(by_names[names], by_names[others]):
                least_s = min(least_s, self._between(one, other))
                if least_s <= self._least_s:
                    return least_s
        return least_s

    def _between(self, one: Mounting, other: Mounting) -> float:
        """What going from one to the other costs at least; infinite where they are the same."""
        key = one.name, other.name
        if key not in self._between_s:
            self._between_s[key] = self._change_s(one, other) if one.name != other.name else math.inf
        return self._between_s[key]

    def _change_s(self, one: Mounting, other: Mounting) -> float:
        mine, its, centre = one.pair.tools, other.pair.tools, self._job.centre
        punches = (mine.punch_name, one.turned) != (its.punch_name, other.turned)
        beside = self._costs.stands_beside and stand_beside(self._job, one, other)
        return centre.change_s(int(punches) + int(mine.die_name != its.die_name), beside=beside)


def tools_of(choice: Mounting) -> list[tuple[Hashable, Hashable]]:
    """What stands in the machine for each hit of a choice: the punch with its way round, and the die."""
    hits = [(hit.pair.tools, hit.turned) for _, hit in choice.numbered]
    return [((tools.punch_name, turned), tools.die_name) for tools, turned in hits]


def _apart(sets: Iterable[set[object]]) -> int:
    """How many of some sets have nothing in common with each other: at least so many, the small ones taken first."""
    count, taken = 0, set[object]()
    for each in sorted(sets, key=len):
        if taken.isdisjoint(each):
            count, taken = count + 1, taken | each
    return count
