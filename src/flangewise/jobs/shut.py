"""What is known of a laid-out part before any order of it is searched, whatever usable pairs it takes."""

import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from functools import cached_property

from flangewise.clearance import lies_within, outline_of
from flangewise.jobs.blanks import (
    Alike,
    Box,
    beside_mm,
    blanks_of,
    halves,
    middle_first,
    of_box,
    on_all_blanks,
    on_blank,
)
from flangewise.jobs.job import Job
from flangewise.jobs.problem import problem_of
from flangewise.jobs.wishes import offers_of
from flangewise.part import Part
from flangewise.pattern import NoBlank
from flangewise.punch_die import PunchDie, usable
from flangewise.sequence import OF_ALL, InTheWay, LeastWeight, SectionProblem

# So many bends in a row are looked at whether they are shut by themselves, and so many choices of their blanks.
MOST_IN_RUN, MOST_HALVED = 6, 120
# So few are looked at before all bends, where there are few.
FEW_IN_RUN = 4
# So many such rows are looked at for one that is shut with all tools.
MOST_RUNS = 4
# So many bends more on either side are looked at where another length of a leg opens some.
MORE_AROUND = 2
# Of any length of a leg up to so many times its own the same tools are asked.
MOST_LONGER = 2.0

# Bends in a row, the first and the last.
Run = tuple[int, int]
# By machine and bend the tools offered.
Names = tuple[tuple[tuple[str, ...], ...], ...]


def all_is_shut(job: Job) -> bool:
    """Whether a laid-out job cannot be made whatever usable pairs it takes, on its blank or another.

    What all of them shut, wherever their blanks put it, each of them shuts.
    """
    by_blank = blanks_of(job)
    return LeastWeight(on_all_blanks(job, by_blank)).is_shut


def shut_runs(job: Job, by_blank: Sequence[Sequence[Alike]], *, most: int = MOST_IN_RUN) -> Iterator[Run]:
    """Up to `most` bends in a row, numbered from 0, that are shut by themselves on the blank of the first pairs and
    hold no others that are; the fewest first, of as many those with the most sheet."""
    some, found = dict(zip(job.offers, (each[0] for each in by_blank), strict=True)), list[Run]()
    problem = problem_of(on_blank(job, by_blank), some, timed=False)
    swings = [all(hit.kind == "swing" for each in one.options for hit in each.hits) for one in problem.operations]
    known, wide, legs_mm = InTheWay([problem]), dict[int, bool](), job.part.section.legs_mm
    count, most_more = len(by_blank), min(len(by_blank), most) - 1

    def may_be(first: int, last: int) -> bool:
        # What shuts some bends by themselves shuts all rows of bends that hold them.
        for at in range(max(last - most_more, 0), min(first, count - 1 - most_more) + 1):
            if at not in wide:
                wide[at] = not all(swings[at : at + most_more + 1]) or known.shuts(at, at + most_more)
            if not wide[at]:
                return False
        return True

    for more in range(1, most_more + 1):
        for first in sorted(range(count - more), key=lambda at: -sum(legs_mm[at : at + more + 2])):
            last, is_new = first + more, all(a < first or b > first + more for a, b in found)
            if is_new and may_be(first, last) and known.shuts(first, last):
                found.append((first, last))
                yield found[-1]


def is_shut_on_all(job: Job, by_blank: Sequence[Sequence[Alike]], run: Run, *, most: int = MOST_HALVED) -> bool:
    """Whether bends in a row are shut by themselves with all their pairs, each on its own blank; False: not known.

    What pairs the other bends take does not matter. Where all blanks together do not settle it they are halved.
    """
    some = _of_run(by_blank, run)
    everything = on_all_blanks(job, some, timed=False)
    boxes: list[Box] = [tuple(tuple(range(len(each))) for each in some)]
    for _ in range(most):
        if not boxes:
            break
        box = boxes.pop()
        inside = middle_first(job, of_box(some, box))
        try:
            problem = _run_problem(on_blank(job, inside), by_blank, inside, run)
        except NoBlank:
            return False
        if not InTheWay([problem]).shuts(*run):
            if all(len(each) == 1 for each in inside) or job.watch.over():
                return False
            boxes += halves(everything, some, box)
    return not boxes


def _of_run(by_blank: Sequence[Sequence[Alike]], run: Run) -> list[Sequence[Alike]]:
    """All pairs of the bends in a row, of the others the first alone."""
    first, last = run
    return [each if first <= bend <= last else (each[0][:1],) for bend, each in enumerate(by_blank)]


def _run_problem(
    job: Job, by_blank: Sequence[Sequence[Alike]], some: Sequence[Sequence[Alike]], run: Run
) -> SectionProblem:
    """The question with some pairs of bends in a row, on the blank of the first of them.

    The legs beside them end where they do on that blank: with other pairs of the next bend the sheet goes on from
    there somewhat elsewhere.
    """
    problem, slack = on_all_blanks(job, some, timed=False), []
    for bend, own in enumerate(problem.slack):
        is_beside = bend in (run[0] - 1, run[1] + 1)
        slack.append(replace(own, shape_mm=beside_mm(job, by_blank, bend)) if is_beside else own)
    return replace(problem, slack=tuple(slack))


def _short_runs(job: Job) -> Iterator[Run]:
    """The same, up to half of the bends."""
    return shut_runs(job, blanks_of(job), most=max(FEW_IN_RUN, min(MOST_IN_RUN, len(job.offers) // 2)))


class ShutBends:
    """What is known of the bends of a part that no tools of any machine make, and of the part with another leg."""

    def __init__(self, part: Part, laid_out: Callable[[Part], Mapping[str, Job]], *, every_die: bool = True) -> None:
        """`laid_out`: a part on each machine, with every die or with the usual ones."""
        self._part, self._laid_out, self._every_die = part, laid_out, every_die
        self._of_others: dict[tuple[object, ...], tuple[InTheWay | None, float]] = {}
        self._known: dict[Run, InTheWay] = {}
        self._is_proven: dict[Run, bool] = {}
        self._found: list[Run] = []
        self._seen: Iterator[Run] | None = None

    def with_fewer_tools(self, laid_out: Callable[[Part], Mapping[str, Job]]) -> "ShutBends":
        """The same of the usual dies alone: what more tools shut they do."""
        own = ShutBends(self._part, laid_out, every_die=False)
        own._is_proven.update({run: True for run, is_proven in self._is_proven.items() if is_proven})
        return own

    @cached_property
    def by_machine(self) -> Mapping[str, Job]:
        """The part on each machine."""
        return self._laid_out(self._part)

    @cached_property
    def _jobs(self) -> tuple[Job, ...]:
        """The same; none where a bend has no tools, or they leave no blank."""
        jobs = tuple(self.by_machine.values())
        return () if any(map(has_no_blank, jobs)) else jobs

    @cached_property
    def _asked(self) -> tuple[Job, ...]:
        """Those of them that shut all the others where they are shut."""
        return least_shut(self._jobs)

    @cached_property
    def _further(self) -> Iterator[Run]:
        """Bends in a row that may be shut by themselves on every machine, those that were not asked of yet."""
        return itertools.islice(self._seen or _short_runs(self._jobs[0]), MOST_RUNS)

    def _runs(self) -> Iterator[Run]:
        """The same from the first on: few of them, the fewest bends first."""
        yield from tuple(self._found)
        for run in self._further if self._jobs else ():
            self._found.append(run)
            yield run

    def _wider(self, run: Run) -> Iterator[Run]:
        """The same bends with one more, on the side with the longer leg: more is in the way of a longer wing."""
        (first, last), legs_mm = run, self._part.section.legs_mm
        if last - first + 2 < len(legs_mm) - 1:
            before_mm = legs_mm[first - 1] if first > 0 else 0.0
            after_mm = legs_mm[last + 2] if last + 2 < len(legs_mm) else 0.0
            yield (first - 1, last) if before_mm > after_mm else (first, last + 1)

    def _in_the_way(self, run: Run) -> InTheWay:
        """What stands in the way of bends in a row with all tools of every machine."""
        if run not in self._known:
            self._known[run] = _in_the_way(self._asked, run)
        return self._known[run]

    def _shuts(self, run: Run) -> bool:
        if run not in self._is_proven:
            self._is_proven[run] = self._in_the_way(run).shuts(*run)
        return self._is_proven[run]

    @cached_property
    def is_all(self) -> bool:
        """Whether the part is shut: some bends in a row are, or all of them."""
        if not self._jobs:
            return False
        if any(self._shuts(each) for run in self._runs() for each in (run, *self._wider(run))):
            return True
        few, whole = self._found[:1], (0, len(self._jobs[0].offers) - 1)
        if self._shuts(whole):
            return True
        for run in dict.fromkeys((whole, *few) if whole[1] < MOST_IN_RUN else few):
            self._is_proven[run] = all(is_shut_on_all(job, blanks_of(job), run) for job in self._asked)
            if self._is_proven[run]:
                return True
        return False

    def is_seen(self, job: Job) -> bool:
        """Whether the part is shut, asked where bends in a row are with the first pairs of a machine's usual dies."""
        runs = iter(()) if has_no_blank(job) else _short_runs(job)
        if (first := next(runs, None)) is None:
            return False
        self._seen = itertools.chain([first], runs)
        return self.is_all

    @property
    def is_known(self) -> bool:
        """Whether it was asked, and found, that the part is shut."""
        return any(self._is_proven.values())

    def whatever_long(self, leg: int) -> bool:
        """Whether bends that a leg is not beside are shut by themselves: then its length helps nothing.

        Tools are offered for a bend by the legs beside it, so those of others are the same.
        """
        proven = (run for run, is_proven in self._is_proven.items() if is_proven)
        runs = itertools.chain(tuple(proven), self._runs())
        return any(not first < leg <= last + 2 and self._shuts((first, last)) for first, last in runs)

    def with_leg(self, leg: int, other: Part, *, around: bool = False, asked: int = OF_ALL) -> bool:
        """Whether bends that are shut in the part are so in one that differs in a leg alone, too.

        Where tools are offered for it that were not for the part, these are held against it as well. `around`: with
        some bends more on either side of the fewest of them, which are shut wherever these are.
        """
        if not self._jobs:
            return False
        runs = [run for run, is_proven in self._is_proven.items() if is_proven]
        if around and runs:
            first, last = min(runs, key=lambda run: run[1] - run[0])
            runs = [(max(first - MORE_AROUND, 0), min(last + MORE_AROUND, len(self._jobs[0].offers) - 1))]
        for run in runs:
            known, was_mm = self._in_the_way_of_other(run, leg, other)
            more_mm = _leg_mm(other, leg) - was_mm
            if known is not None and known.shuts(*run, leg=leg - 1, longer_mm=more_mm, asked=asked):
                return True
        return False

    def _in_the_way_of_other(self, run: Run, leg: int, other: Part) -> tuple[InTheWay | None, float]:
        """What stands in the way of bends in a row with all tools that are offered for a part that differs in a leg,
        and of what length of that leg it is asked. Fewer tools are shut where more of them are.
        """
        if self._every_die and _leg_mm(other, leg) <= _leg_mm(self._part, leg):
            return self._in_the_way(run), _leg_mm(self._part, leg)
        if self._every_die:
            # What is said of legs is of short ones: with a longer one as many tools are offered or more.
            other = _with_leg(self._part, leg, max(_leg_mm(other, leg), MOST_LONGER * _leg_mm(self._part, leg)))
        names = self._tools_beside(leg, other)
        if self._are_own(leg, names):
            return self._in_the_way(run), _leg_mm(self._part, leg)
        if (run, leg, names) not in self._of_others:
            jobs = tuple(self._laid_out(other).values())
            known = None if any(map(has_no_blank, jobs)) else _in_the_way(least_shut(jobs), run)
            self._of_others[run, leg, names] = known, _leg_mm(other, leg)
        return self._of_others[run, leg, names]

    def _tools_beside(self, leg: int, other: Part) -> Names:
        """The tools offered for the bends beside a leg on each machine, for a part that differs in it."""
        shop, every_die = self._jobs[0].shop, self._every_die
        offers = [offers_of(other, shop, job.machine, every_die=every_die, bends=(leg - 1, leg)) for job in self._jobs]
        return tuple(tuple(map(_names, each.values())) for each in offers)

    def _are_own(self, leg: int, names: Names) -> bool:
        """Whether all tools offered for the bends beside a leg are offered for the part as well."""
        own = ([_names(each) for bend, each in job.offers.items() if bend in (leg - 1, leg)] for job in self._jobs)
        both = zip(itertools.chain(*names), itertools.chain(*own), strict=True)
        return all(set(some) <= set(every) for some, every in both)


def _in_the_way(jobs: Iterable[Job], run: Run) -> InTheWay:
    """What stands in the way of bends in a row with all tools of every machine."""
    each = ((*on_middle, _of_run(on_middle[1], run)) for on_middle in map(_on_middle_blank, jobs))
    return InTheWay(_run_problem(*given, run) for given in each)


def least_shut(jobs: Iterable[Job]) -> tuple[Job, ...]:
    """The jobs of one part without those that are shut wherever another of them is."""
    found: list[Job] = []
    for job in jobs:
        if not any(_is_shut_with(job, other) for other in found):
            found = [other for other in found if not _is_shut_with(other, job)] + [job]
    return tuple(found)


def _is_shut_with(job: Job, other: Job) -> bool:
    """Whether a job is shut where another of its part is: it has no other pairs, and ram and bed hold those of it."""
    plain = (not each.shop.measured.rows and each.cut_offers is each.offers for each in (job, other))
    machines = ((one.machine.ram_outline_mm, one.machine.bed_outline_mm) for one in (other, job))
    bodies = ([outline_of(each.drawn_mm()) for each in both] for both in machines)
    return (
        all(plain)
        and all(itertools.starmap(lies_within, zip(*bodies, strict=True)))
        and all(_formed(job.offers[bend]) <= _formed(other.offers[bend]) for bend in job.offers)
    )


def _formed(offers: Sequence[PunchDie]) -> set[tuple[object, ...]]:
    """The pairs offered, each with what it makes of the sheet."""
    loaded = ((pair, pair.air.effective_radius_mm if pair.air is not None else None) for pair in usable(offers))
    return {(pair.tools.name, pair.kind, pair.formed_radius_mm, pair.loaded_turn_deg, mm) for pair, mm in loaded}


def _on_middle_blank(job: Job) -> tuple[Job, Sequence[Sequence[Alike]]]:
    """A job on the blank from which its others differ least, and its blanks, that one first; on its own where there is
    none."""
    by_blank = blanks_of(job)
    with suppress(NoBlank):
        middle = middle_first(job, by_blank)
        return on_blank(job, middle), middle
    return job, by_blank


def _with_leg(part: Part, leg: int, length_mm: float) -> Part:
    legs_mm = part.section.legs_mm
    return replace(part, section=replace(part.section, legs_mm=(*legs_mm[: leg - 1], length_mm, *legs_mm[leg:])))


def _leg_mm(part: Part, leg: int) -> float:
    return part.section.legs_mm[leg - 1]


def has_no_blank(job: Job) -> bool:
    """Whether a bend of a laid-out job has no tools, or they leave no blank."""
    return job.pattern is None or not all(map(usable, job.offers.values()))


def _names(offers: Sequence[PunchDie]) -> tuple[str, ...]:
    return tuple(pair.tools.name for pair in usable(offers))
