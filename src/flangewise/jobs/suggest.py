"""The changes that would free a part for which there is no order, each verified by planning again.

A leg's change is told as the smallest only where every nearer tenth of a millimetre, longer or shorter, is proven not
to do; else it is called one that works.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from flangewise.findings import Finding, note, place, sorted_findings
from flangewise.jobs.job import Job
from flangewise.jobs.machines import can_be_bent, is_possible, worked_out
from flangewise.jobs.will import compared, impossible, with_bends
from flangewise.part import Part
from flangewise.sequence import UNLIMITED, Watch
from flangewise.shop import Shop

# Legs are tried up to half as long again and down to half; beyond that it is another part.
MOST_SHARE = 0.5
# What of that is tried first, the farthest before the nearer.
TRIED_SHARES = (1.0, 0.5, 0.2)
# A leg is told to the tenth of a millimetre, as a drawing sizes it.
STEP_MM = 0.1
# A leg that falls into the die is as a rule much too short: it is tried up to twice as long.
MOST_SHARE_SHORT = 1.0
# So many legs are tried; those the reasons name come first.
MOST_LEGS = 3
# So many nearer lengths are looked at to prove that a change is the smallest.
MOST_NEARER = 20
# Of the time left, what all changes may take, and what each of the other plannings may.
MENDS_SHARE, TRIAL_SHARE = 0.5, 0.25


def work_out(part: Part, shop: Shop, watch: Watch = UNLIMITED) -> Job:
    """The part worked out, what the setter asks of it priced against the least.

    Where there is no plan, the smallest changes that would free it are told, if it was looked through in time.
    """
    job = worked_out(part, shop, watch)
    more: list[Finding] = [*compared(job)] if job.feasible else []
    if job.feasible is False:
        more += impossible(job)
    if not job.feasible and not watch.over():
        more += suggestions(job)
    return replace(job, findings=sorted_findings((*job.findings, *more)))


def suggestions(job: Job) -> tuple[Finding, ...]:
    """Changes that were planned again and work: tools unpinned, the order freed, another machine, legs, the radius.

    They take a share of the time left; what was not looked at in it is not told.
    """
    job = replace(job, watch=job.watch.share(MENDS_SHARE))
    found = [*_unpinned(job), *_freed_order(job), *_other_machine(job)]
    if job.ordered is not None:
        found += [*_legs(job), *_radius(job)]
    elif job.pattern is not None:
        found += _short_legs(job)
    return tuple(found)


def _trial(job: Job) -> Watch:
    return job.watch.share(TRIAL_SHARE)


def _unpinned(job: Job) -> Iterator[Finding]:
    pinned = [bend.number for bend in job.part.section.bends if bend.punch or bend.die]
    free = with_bends(job.part, lambda bend: replace(bend, punch=None, die=None))
    if pinned and can_be_bent(free, job.shop, _trial(job)):
        yield note("would-do-unpinned", bends=", ".join(map(str, pinned)))


def _freed_order(job: Job) -> Iterator[Finding]:
    if job.part.order is not None:
        freed = worked_out(replace(job.part, order=None), job.shop, _trial(job))
        if freed.feasible:
            order = ", ".join(step.label for step in freed.solution.steps)
            yield note("would-do-order", order=order)


def _other_machine(job: Job) -> Iterator[Finding]:
    for name in job.shop.machines:
        if name != job.machine.name and can_be_bent(replace(job.part, machine=name), job.shop, _trial(job)):
            yield note("would-do-machine", machine=name)
            return


@dataclass
class _Leg:
    """One leg of a part in other lengths; each is planned once."""

    job: Job
    number: int
    known: dict[float, bool | None] = field(default_factory=dict)

    @property
    def now_mm(self) -> float:
        return self.job.part.section.legs_mm[self.number - 1]

    def length_mm(self, by_mm: float) -> float:
        """The leg changed, to the tenth."""
        return round(self.now_mm + by_mm, 1)

    def works(self, length_mm: float) -> bool | None:
        """Whether the part can be bent with the leg so long; None where that is not known, or no time is left."""
        if length_mm not in self.known:
            if length_mm <= 0 or self.job.watch.over():
                return None
            section = self.job.part.section
            legs_mm = (*section.legs_mm[: self.number - 1], length_mm, *section.legs_mm[self.number :])
            part = replace(self.job.part, section=replace(section, legs_mm=legs_mm))
            self.known[length_mm] = is_possible(part, self.job.shop, _trial(self.job))
        return self.known[length_mm]

    def nearest_mm(self, side: int, most_mm: float) -> float | None:
        """A length to one side that works while the one a step nearer does not, as halving finds it.

        None where none is found so near. Out of time it is the nearest that is known to work.
        """
        good = next((by for share in TRIED_SHARES if self.works(self.length_mm(side * (by := most_mm * share)))), None)
        if good is None:
            return None
        bad = 0.0
        while good - bad > STEP_MM + 1e-6 and not self.job.watch.over():
            middle = abs(self.length_mm(side * (good + bad) / 2) - self.now_mm)
            if middle in (good, bad):
                break
            good, bad = (middle, bad) if self.works(self.length_mm(side * middle)) else (good, middle)
        return self.length_mm(side * good)

    def finding(self, then_mm: float, *, sides: tuple[int, ...]) -> Finding:
        """The change, called the smallest where all nearer lengths to these sides are proven not to do."""
        nearer = [self.length_mm(side * step * STEP_MM) for step in range(1, MOST_NEARER + 1) for side in sides]
        nearer = [each for each in nearer if abs(each - self.now_mm) < abs(then_mm - self.now_mm) - STEP_MM / 2]
        beside = self.length_mm(then_mm - self.now_mm - (STEP_MM if then_mm > self.now_mm else -STEP_MM))
        where, values = place("leg", self.number), {"now_mm": self.now_mm, "then_mm": then_mm}
        near = abs(then_mm - self.now_mm) <= MOST_NEARER * STEP_MM + STEP_MM / 2
        if near and all(self.works(each) is False for each in nearer):
            return note("would-do-leg-smallest", where, **values)
        if beside == self.now_mm or self.works(beside) is False:
            return note("would-do-leg-edge", where, **values, not_mm=beside)
        return note("would-do-leg", where, **values)


def _legs(job: Job) -> Iterator[Finding]:
    for number in _legs_in_question(job)[:MOST_LEGS]:
        leg = _Leg(job, number)
        then_mm, most_mm = None, leg.now_mm * MOST_SHARE
        for side in (-1, 1):
            found = leg.nearest_mm(side, most_mm) if most_mm > STEP_MM / 2 else None
            if found is not None:
                then_mm, most_mm = found, abs(found - leg.now_mm) - STEP_MM
        if then_mm is not None:
            yield leg.finding(then_mm, sides=(-1, 1))


def _short_legs(job: Job) -> Iterator[Finding]:
    """Where a leg falls into every die that could make its bend: how long it must be for one of them."""
    short = [finding.where for finding in job.findings if finding.code == "leg-too-short"]
    legs_mm = job.part.section.legs_mm
    for bend in job.part.section.bends:
        if place("bend", bend.number) in short:
            leg = min((bend.number, bend.number + 1), key=lambda number: legs_mm[number - 1])
            tried = _Leg(job, leg)
            then_mm = tried.nearest_mm(1, tried.now_mm * MOST_SHARE_SHORT)
            if then_mm is not None:
                yield tried.finding(then_mm, sides=(1,))


def _legs_in_question(job: Job) -> list[int]:
    """The legs that the reasons name, then their neighbours."""
    named = [int(body.split()[1]) for finding in job.findings for body in finding.bodies if body.startswith("leg ")]
    near = [leg + side for leg in named for side in (-1, 1)]
    return [leg for leg in dict.fromkeys((*named, *near)) if 1 <= leg <= len(job.part.section.legs_mm)]


def _radius(job: Job) -> Iterator[Finding]:
    section = job.part.section
    free = replace(job.part, section=replace(section, radius_mm=None))
    if section.radius_mm is not None and can_be_bent(free, job.shop, _trial(job)):
        yield note("would-do-radius", radius_mm=section.radius_mm)
