"""The jobs of one machine in their order: what each is set up with, when it ends, and what the order saves.

Source of the figures: the machine's own seconds for a set-up and for a tool that is put in, as the set-ups have them.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from flangewise.findings import Finding, caution, note
from flangewise.queue.changing import Changing, Kind
from flangewise.queue.days import WorkingDays
from flangewise.queue.in_places import MOST_PLACED, PlacedSearch
from flangewise.queue.layouts import LaidStation, Layout, layouts_of
from flangewise.queue.on_bed import Bed, ToolRow
from flangewise.queue.places import StationPlace, Use, placed, stages_of
from flangewise.queue.search import EXACT, MOST_STATES, SAME_S, Clock, FoundOrder, QueueSearch
from flangewise.records import dataclass, replace
from flangewise.words import phrase

if TYPE_CHECKING:
    from flangewise.part import PanelPart, Part


@dataclass(frozen=True)
class QueueJob:
    """A job as it waits: what its set-up needs, the seconds of its set-up alone and of its parts (None: not known).

    `proven`: its own plan is the least.
    """

    part: Part | PanelPart
    quantity: int
    kind: Kind
    set_up_s: float
    run_s: float | None
    proven: bool

    @property
    def due(self) -> datetime.date | None:
        """The day it is due."""
        return datetime.date.fromisoformat(self.part.due) if self.part.due else None


@dataclass(frozen=True)
class QueuedJob:
    """A job in its place: the rows put in for it, the seconds of its set-up now, and when it ends.

    `moved_mm`: its stations, each with how far to the right of its own sheet's place it stands.
    `day` is None where that cannot be computed. `kept_alone`: its set-ups have the bed one after the other.
    """

    job: QueueJob
    layout: int
    moved_mm: tuple[tuple[str, float], ...]
    put_in: tuple[ToolRow, ...]
    set_up_s: float
    day: datetime.date | None

    @property
    def is_late(self) -> bool:
        """Whether it ends after the day it is due."""
        return self.day is not None and self.job.due is not None and self.day > self.job.due

    @property
    def has_changes(self) -> bool:
        """Whether tools are changed while it is made."""
        return self.job.kind.leaves is not None


@dataclass(frozen=True)
class Queue:
    """The jobs of a machine in order; all set-ups in this order, as given, each by itself, and the least of any order.

    `kinds` is how many kinds of set-up there are, `proven` whether no order takes less.
    """

    bed: Bed
    jobs: tuple[QueuedJob, ...]
    layouts: tuple[Layout, ...]
    set_up_s: float
    given_s: float
    alone_s: float
    least_s: float
    kinds: int
    findings: tuple[Finding, ...]
    days: WorkingDays | None = None

    @property
    def saved_s(self) -> float:
        """What the order saves against the given one, with tools left standing in both."""
        return self.given_s - self.set_up_s

    @property
    def proven(self) -> bool:
        """Whether no order takes less."""
        return self.set_up_s <= self.least_s + SAME_S

    def served_by(self, layout: int, station: LaidStation) -> tuple[QueuedJob, ...]:
        """The jobs of a layout that use a station."""
        own = (each for each in self.jobs if each.layout == layout)
        return tuple(each for each in own if station.letter in {use for use, _ in each.moved_mm})


def queue_of(jobs: Sequence[QueueJob], bed: Bed, days: WorkingDays | None = None) -> Queue:
    """The jobs, in the order given, put in the order with the least changing of tools."""
    dues = sorted({job.due for job in jobs if job.due is not None})
    kinds, members = _kinds(jobs, dues, apart=days is not None)
    changing = Changing(bed, kinds)
    clock = None
    if days is not None and all(job.run_s is not None for job in jobs):
        clock = _clock(changing, jobs, members, dues, days)
    kind_of = {number: kind for kind, own in enumerate(members) for number in own}
    found = _tidy(_least(changing, clock), changing, clock, members)
    order = [number for kind in found.order for number in members[kind]]
    each = _standing([kind_of[number] for number in order], changing, found.least_s)
    if each.seconds_s > found.seconds_s + SAME_S:
        # Kept standing as the least order has it some have no place: an order is looked for in which all have one.
        most = MOST_PLACED if len(kinds) <= EXACT else MOST_STATES
        in_places, least_s = PlacedSearch(changing, clock).least_placed(most)
        if in_places is not None:
            found = _tidy(in_places, changing, clock, members, in_places=True)
            order = [number for kind in found.order for number in members[kind]]
            each = _standing([kind_of[number] for number in order], changing, found.least_s)
        elif math.isfinite(least_s):
            found = replace(found, least_s=max(least_s, found.least_s))
    given = _standing([kind_of[number] for number in range(len(jobs))], changing, found.least_s)
    by_due = [job.due for job in jobs if job.due is not None]
    if clock is None and by_due == sorted(by_due) and given.seconds_s <= each.seconds_s + SAME_S:
        order, each = list(range(len(jobs))), given
    base_s = bed.machine.set_up_s * len(jobs)
    layouts = layouts_of(each, kinds, bed)
    queued = _queued(jobs, order, each, layouts, bed.machine.set_up_s, days)
    queue = Queue(
        bed=bed,
        jobs=queued,
        layouts=layouts,
        set_up_s=base_s + each.seconds_s,
        given_s=base_s + given.seconds_s,
        alone_s=sum(job.set_up_s for job in jobs),
        least_s=base_s + found.least_s,
        kinds=len(kinds),
        findings=(),
        days=days,
    )
    return replace(queue, findings=tuple(_findings(queue)))


def _standing(order: Sequence[int], changing: Changing, least_s: float) -> StationPlace:
    """The set-ups of an order with their places; where some have to be moved for it, as little as that can take."""
    stands = placed(stages_of(QueueSearch(changing).in_order(order, least_s), changing), changing.bed)
    if not stands.moved_s:
        return stands
    found, _ = PlacedSearch(changing, order=order).least_placed(MOST_STATES)
    return stands if found is None else placed(stages_of(found, changing), changing.bed)


def _kinds(
    jobs: Sequence[QueueJob], dues: Sequence[datetime.date], *, apart: bool
) -> tuple[tuple[Kind, ...], tuple[tuple[int, ...], ...]]:
    """Jobs that are set up alike and due on one day go together; those without a date not where hours are reckoned."""
    found: dict[tuple[Kind, int | None], list[int]] = {}
    for number, job in enumerate(jobs):
        kind = replace(job.kind, due=None if job.due is None else dues.index(job.due))
        found.setdefault((kind, number if apart and job.due is None else None), []).append(number)
    return tuple(kind for kind, _ in found), tuple(map(tuple, found.values()))


def _clock(
    changing: Changing,
    jobs: Sequence[QueueJob],
    members: Sequence[Sequence[int]],
    dues: Sequence[datetime.date],
    days: WorkingDays,
) -> Clock:
    """When each kind must have ended: by its day, or where that cannot be kept as early as it can be.

    Those that are due first go first: the others are asked for what these leave.
    """
    base_s = changing.bed.machine.set_up_s
    runs_s = tuple(sum((jobs[number].run_s or 0.0) + base_s for number in own) for own in members)
    ends_s = [float("inf")] * len(members)
    dated: list[int] = []
    for place, due in enumerate(dues):
        own = [kind for kind, each in enumerate(changing.kinds) if each.due == place]
        dated += own
        search = QueueSearch(changing, Clock(runs_s, tuple(ends_s)), only=dated)
        found = search.least(None if len(dated) <= EXACT else MOST_STATES)[0] or search.abreast(0.0)
        end_s = float("inf") if found is None else found.seconds_s + sum(runs_s[kind] for kind in dated)
        for kind in own:
            ends_s[kind] = max(days.seconds_to(due), end_s)
    return Clock(runs_s, tuple(ends_s))


def _least(changing: Changing, clock: Clock | None) -> FoundOrder:
    """The order with the least changing; beyond so many kinds as good a one as is found."""
    search = QueueSearch(changing, clock)
    found, least_s = search.least(None if len(changing.kinds) <= EXACT else MOST_STATES)
    if found is not None:
        return found
    near = search.abreast(least_s)
    if near is not None:
        return search.bettered(near)
    # Where none of the few that are gone on with keeps the clock, the dated come first.
    order = sorted(range(len(changing.kinds)), key=lambda kind: _rank(changing.kinds[kind], kind))
    return search.in_order(order, least_s)


def _rank(kind: Kind, number: int) -> tuple[bool, int, int]:
    return kind.due is None, kind.due or 0, number


def _tidy(
    found: FoundOrder,
    changing: Changing,
    clock: Clock | None,
    members: Sequence[Sequence[int]],
    *,
    in_places: bool = False,
) -> FoundOrder:
    """The same seconds in the order a setter looks for: by due day before those without, then as the jobs were given.

    Neighbours change places as long as that takes nothing.
    """
    search = QueueSearch(changing, clock)

    def rank(kind: int) -> tuple[bool, int, int]:
        return _rank(changing.kinds[kind], members[kind][0])

    def tried(order: Sequence[int]) -> FoundOrder | None:
        if in_places:
            return PlacedSearch(changing, order=order).least_placed(MOST_STATES)[0]
        return search.in_order(order, found.least_s, few=len(order) > EXACT)

    changed = True
    while changed:
        changed = False
        for at in range(len(found.order) - 1):
            one, other = found.order[at : at + 2]
            if rank(other) >= rank(one):
                continue
            order = [*found.order[:at], other, one, *found.order[at + 2 :]]
            swapped = tried(order)
            if swapped is None or swapped.seconds_s > found.seconds_s + SAME_S:
                continue
            if search.keeps(order, swapped.changes):
                found, changed = replace(swapped, least_s=found.least_s), True
    return found


def _queued(
    jobs: Sequence[QueueJob],
    order: Sequence[int],
    stands: StationPlace,
    layouts: Sequence[Layout],
    base_s: float,
    days: WorkingDays | None,
) -> tuple[QueuedJob, ...]:
    layout_of = {stage: number for number, layout in enumerate(layouts) for stage in layout.stages}
    letters = {
        (number, each.middle_mm): each.letter for number, layout in enumerate(layouts) for each in layout.stations
    }
    queued: list[QueuedJob] = []
    stage, now_s = 0, 0.0
    for number in order:
        job = jobs[number]
        own = stands.stages[stage : stage + (2 if job.kind.leaves is not None else 1)]
        uses, put_in = [], []
        for nth, each in enumerate(own, start=stage):
            laid = layout_of[nth]
            uses += [(letters[laid, stands.middles_mm[use.station]], _shift_mm(use, stands)) for use in each.uses]
            if nth == stage:
                put_in += _rows_put_in(stands, nth)
        seconds_s = base_s + sum(each.seconds_s for each in own)
        now_s += seconds_s + (job.run_s or 0.0)
        known = days is not None and all(jobs[each].run_s is not None for each in order[: len(queued) + 1])
        day = days.day_of(now_s) if days is not None and known else None
        queued.append(QueuedJob(job, layout_of[stage], tuple(uses), tuple(put_in), seconds_s, day))
        stage += len(own)
    return tuple(queued)


def _shift_mm(use: Use, stands: StationPlace) -> float:
    """How far to the right of its own sheet's place a station stands."""
    return stands.middles_mm[use.station] - use.need.middle_mm


def _rows_put_in(stands: StationPlace, stage: int) -> list[ToolRow]:
    """The rows of a stage that did not stand in the one before."""
    before = dict(stands.stages[stage - 1].standing) if stage else {}
    rows = []
    for number, standing in stands.stages[stage].standing:
        if number in stands.stages[stage].put_in:
            last = before.get(number)
            rows += [row for row in standing.rows if last is None or row not in last.rows]
    return rows


def _findings(queue: Queue) -> list[Finding]:
    """What must be known: jobs that come too late, and what could not be reckoned."""
    told = []
    for each in queue.jobs:
        if each.is_late and each.day is not None and each.job.due is not None:
            days = {"due": each.job.due.isoformat(), "day": each.day.isoformat()}
            told.append(caution("queue-late", phrase("place.job", name=each.job.part.name), **days))
    lacking = [each.job.part.name for each in queue.jobs if each.job.run_s is None]
    if queue.days is not None and lacking:
        told.append(note("queue-run-not-known", phrase("place.job", name=", ".join(lacking))))
    return told
