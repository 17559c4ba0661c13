"""Pairs for a part in another length of a leg: those that bent it before, or with others for one of its bends.

Where another length shuts a plan, as a rule another pair for one of its bends opens it again. Which do is asked of many
at once, and halved; that tools leave room is no plan yet, so each choice is planned.
"""

import itertools
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from functools import cache, partial

from flangewise.jobs.blanks import Alike, Box, blanks_of, halves, middle_first, of_box, on_all_blanks, on_blank
from flangewise.jobs.by_hand import with_first_piece
from flangewise.jobs.job import Job, Pairs
from flangewise.jobs.plan_part import blanked_on, planned
from flangewise.jobs.shut import MOST_IN_RUN
from flangewise.part import Part
from flangewise.pattern import NoBlank
from flangewise.sequence import UNLIMITED, InTheWay, Watch

# So many choices of blanks are looked at, and so many of those that tools leave room for are planned.
MOST_HALVED, MOST_PLANNED = 40, 3


def found_near(part: Part, like: Job, watch: Watch = UNLIMITED) -> Job | None:
    """A plan of the part on the machine of another's plan, with its pairs but for one bend's; None: none is found."""
    job = blanked_on(part, like.shop, like.machine.name, replace(watch, any_plan=True))
    choices = near_pairs(job, like.pairs) if job.pattern is not None else ()
    for choice in itertools.islice(choices, MOST_PLANNED):
        offers = {
            bend: tuple(dict.fromkeys(one.pair for one in alike))
            for bend, (alike,) in zip(job.offers, choice, strict=True)
        }
        own = replace(job, offers=offers, cut_offers=offers if job.cut_offers is job.offers else job.cut_offers)
        if (found := planned(own)).feasible:
            return with_first_piece(found)
    return None


def any_near(job: Job, like: Pairs) -> bool:
    """Whether tools leave room for a laid-out job with others' pairs but for two bends side by side.

    False where that is not known: of hems and offsets it is not, nor of more bends than are asked together.
    """
    bends = job.part.section.bends
    if job.pattern is None or len(bends) > MOST_IN_RUN or any(bend.kind != "bend" for bend in bends):
        return False
    return next(near_pairs(job, like, others=min(2, len(bends))), None) is not None


def near_pairs(job: Job, like: Pairs, *, others: int = 1) -> Iterator[tuple[tuple[Alike, ...], ...]]:
    """The blanks of a laid-out job on which tools do not surely shut it, and that are of the same pairs as others but
    for one bend, or for so many in a row."""
    by_blank = blanks_of(job)
    at = [_number_of(each, like, bend) for bend, each in zip(job.offers, by_blank, strict=True)]
    own = tuple((nth,) for nth in at if nth is not None)
    if len(own) < len(at):
        return
    every: Box = tuple(tuple(range(len(each))) for each in by_blank)
    firsts = range(len(every) + 1 - others)
    boxes: list[Box] = [(*own[:first], *every[first : first + others], *own[first + others :]) for first in firsts]
    boxes.append(own)
    told = set[Box]()
    everything = cache(partial(on_all_blanks, job, by_blank, timed=False))
    for _ in range(MOST_HALVED):
        if not boxes or job.watch.over():
            return
        box = boxes.pop()
        inside = middle_first(job, of_box(by_blank, box))
        with suppress(NoBlank):
            if not _is_shut(job, inside):
                if any(len(kept) > 1 for kept in box):
                    boxes += halves(everything(), by_blank, box)
                elif box not in told:
                    told.add(box)
                    yield inside


def _is_shut(job: Job, inside: tuple[tuple[Alike, ...], ...]) -> bool:
    """Whether all of some pairs shut a job. Raises NoBlank."""
    return InTheWay([on_all_blanks(on_blank(job, inside), inside, timed=False)]).shuts(0, len(inside) - 1)


def _number_of(by_blank: tuple[Alike, ...], like: Pairs, bend: int) -> int | None:
    """Which blank of a bend a pair makes."""
    name = None if (pair := like[bend]) is None else pair.tools.name
    made = (nth for nth, alike in enumerate(by_blank) if any(one.pair.tools.name == name for one in alike))
    return next(made, None)
