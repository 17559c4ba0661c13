"""Parts worked out one after another: one that asks what another before it asked gets that one's answer.

In a folder many parts differ in nothing but name, title or job. What is asked is the part without what is only told.
"""

from collections.abc import Callable
from typing import Any

from flangewise.jobs.job import Job
from flangewise.part import Part
from flangewise.records import altered
from flangewise.sequence import Watch
from flangewise.shop import Shop

# So many answers are kept, those asked for last: a run over many parts takes no more memory for it than one over these.
MOST_KEPT = 48
# What of a part is only told, on the sheet and in its file's name.
ONLY_TOLD: dict[str, Any] = {
    **dict.fromkeys(("name", "file", "title", "revision", "drawing", "job", "due"), ""),
    "notes": (),
    "of_family": False,
}


class RememberedWork:
    """Work on parts of one shop that is not done again for a part that asks the same."""

    def __init__(self, work: Callable[[Part, Shop, Watch], Job]) -> None:
        self._work = work
        self._kept: dict[Part, Job] = {}

    def __call__(self, part: Part, shop: Shop, watch: Watch) -> Job:
        """The part worked out. What a search was too short to settle is not kept."""
        asked = altered(part, **ONLY_TOLD)
        known = self._kept.pop(asked, None)
        if known is None or known.shop is not shop:
            known = self._work(part, shop, watch)
        if _is_settled(known):
            self._kept[asked] = known
            if len(self._kept) > MOST_KEPT:
                del self._kept[next(iter(self._kept))]
        pattern = None if known.pattern is None else altered(known.pattern, part=part.name)
        return altered(known, part=part, pattern=pattern, watch=watch)


def _is_settled(job: Job) -> bool:
    """Whether a longer search would tell the same."""
    return not job.watch.over() and (job.feasible is False or (bool(job.feasible) and job.solution.proven_least))
