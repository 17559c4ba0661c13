"""The setter's own will: what a part file asks of order, gauging, face and tools, priced against the least plan."""

from collections.abc import Callable, Iterator
from dataclasses import replace

from flangewise.findings import Finding, note, place, refuse
from flangewise.jobs.job import Job
from flangewise.jobs.machines import can_be_bent, worked_out
from flangewise.part import Part, WantedBend
from flangewise.words import Phrase, phrase

# Less than this is not told: seconds are written to a tenth.
SAME_S = 0.05
# So many bends are looked at one by one for the gauging or face that cannot be.
MOST_ALONE = 6

Change = Callable[[WantedBend], WantedBend]


def asks(part: Part) -> bool:
    """Whether the part file leaves anything of order, gauging, face or tools no longer free."""
    return part.order is not None or any(bend != _free(bend) for bend in part.section.bends)


def freed(part: Part) -> Part:
    """The part with nothing asked of order, gauging, face or tools."""
    return with_bends(replace(part, order=None), _free)


def _free(bend: WantedBend) -> WantedBend:
    return replace(bend, punch=None, die=None, gauge=None, marked_up=None, punch_turned=None)


def with_bends(part: Part, change: Change, only: int | None = None) -> Part:
    """The part with a change to its bends, or to the one bend named."""
    bends = tuple(change(bend) if only in (None, bend.number) else bend for bend in part.section.bends)
    return replace(part, section=replace(part.section, bends=bends))


def compared(job: Job) -> Iterator[Finding]:
    """What is asked against the least plan without it: seconds of both, and what the least does otherwise.

    Nothing for a part that asks nothing, or of which the freed part has no plan.
    """
    if job.ordered is None or (own_s := job.solution.cost) is None or not asks(job.part) or job.watch.over():
        return
    best = worked_out(freed(job.part), job.shop, job.watch)
    if best.ordered is None or (least_s := best.solution.cost) is None:
        return
    proven = best.solution.proven_least
    if own_s <= least_s + SAME_S:
        yield note("asked-least" if proven else "asked-least-found", own_s=own_s)
        return
    code = "asked-dearer" if proven else "asked-dearer-found"
    yield note(code, own_s=own_s, least_s=least_s, what=tuple(_otherwise(job, best)))


def _otherwise(job: Job, best: Job) -> Iterator[Phrase]:
    """What the best plan does otherwise: machine, order, and bends that are gauged, turned or tooled in another way."""
    own, other = _ways(job), _ways(best)
    found: list[Phrase] = []
    if best.machine.name != job.machine.name:
        found.append(phrase("asked.machine", machine=best.machine.name))
    if list(own) != list(other):
        found.append(phrase("asked.order", order="-".join(map(str, other))))
    for what in range(3):
        groups: dict[Phrase, list[str]] = {}
        for bend in sorted(other):
            if other[bend][what] != own[bend][what]:
                groups.setdefault(other[bend][what], []).append(str(bend))
        found += [Phrase(said.code, (("bends", "+".join(bends)), *said.values)) for said, bends in groups.items()]
    yield from found or [phrase("asked.handled")]


def _ways(job: Job) -> dict[int, tuple[Phrase, Phrase, Phrase]]:
    """How each bend is gauged, which face is up and which tools make it: by bend, in the order they are made."""
    assert job.ordered is not None and job.pattern is not None
    found = {}
    for step in job.ordered.solution.steps:
        on, choice = step.gauged, job.ordered.mounting(step)
        datum = Phrase(f"asked.on-{step.behind if on is None else on.on}")
        if on is not None and on.zone is not None and on.on == "flange":
            datum = Phrase("asked.on-flange", (("flange", job.pattern.zones[on.zone].bend),))
        names = (("die", choice.pair.tools.die_name), ("punch", choice.pair.tools.punch_name))
        tools = Phrase("asked.tools-turned" if choice.turned else "asked.tools", names)
        found[int(step.label)] = (datum, Phrase("asked.face-up" if step.marked_up else "asked.face-down"), tools)
    return found


def impossible(job: Job) -> Iterator[Finding]:
    """Which of what is asked leaves a part without a plan that has one without it; nothing where that does not help.

    An order or tools that by themselves are in the way are told with what would do instead, among the other changes.
    """
    told = [
        *_alone(job, lambda bend: replace(bend, gauge=None), _no_gauge),
        *_alone(job, lambda bend: replace(bend, marked_up=None), _no_face),
    ]
    yield from told or _together(job)


def _together(job: Job) -> Iterator[Finding]:
    """All that is asked, where no single thing is to blame; of the tools only where the rest let go does not help."""
    untooled = with_bends(job.part, lambda bend: replace(bend, punch=None, die=None, punch_turned=None))
    tooled = with_bends(replace(job.part, order=None), lambda bend: replace(bend, gauge=None, marked_up=None))
    unordered = replace(job.part, order=None)
    if _works(untooled, job) or _works(unordered, job):
        return
    for asked, free in ((untooled, tooled), (job.part, freed(job.part))):
        several = _will(asked)
        if len(several) > 1 and _works(free, job):
            yield refuse("asked-together", asked=several)
            return


def _works(part: Part, job: Job) -> bool:
    return part != job.part and can_be_bent(part, job.shop, job.watch)


def _alone(job: Job, free: Change, told: Callable[[WantedBend], Finding]) -> list[Finding]:
    """The bends of which one thing asked is what cannot be: each by itself, or all where no single one is."""
    bends = [bend for bend in job.part.section.bends if free(bend) != bend]
    if not bends or not _works(with_bends(job.part, free), job):
        return []
    alone = [bend for bend in bends[:MOST_ALONE] if _works(with_bends(job.part, free, bend.number), job)]
    return [told(bend) for bend in alone or bends]


def _no_gauge(bend: WantedBend) -> Finding:
    assert bend.gauge is not None
    flange = {} if bend.gauge.bend is None else {"bend": bend.gauge.bend}
    return refuse("asked-gauge", place("bend", bend.number), on=phrase(f"sheet.gauge.{bend.gauge.on}", **flange))


def _no_face(bend: WantedBend) -> Finding:
    return refuse("asked-face-up" if bend.marked_up else "asked-face-down", place("bend", bend.number))


def _will(part: Part) -> tuple[Phrase, ...]:
    told = [] if part.order is None else [phrase("asked.order", order="-".join(map(str, part.order)))]
    for bend in part.section.bends:
        number = str(bend.number)
        if bend.punch is not None or bend.die is not None:
            told.append(phrase("asked.tools", bends=number, punch=bend.punch or "–", die=bend.die or "–"))
        if bend.gauge is not None and bend.gauge.bend is not None:
            told.append(phrase("asked.on-flange", bends=number, flange=bend.gauge.bend))
        elif bend.gauge is not None:
            told.append(phrase(f"asked.on-{bend.gauge.on}", bends=number))
        if bend.marked_up is not None:
            told.append(phrase("asked.face-up" if bend.marked_up else "asked.face-down", bends=number))
    return tuple(told)
