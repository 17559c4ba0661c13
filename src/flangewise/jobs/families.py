"""The sizes of a family on one leaf: each is worked out by itself, and those that are made alike share the leaf.

That one plan is the proof of another is not reckoned with: any size on the part changes what strikes and what holds.
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from flangewise import sheet
from flangewise.jobs.job import Job
from flangewise.jobs.printed import printed
from flangewise.jobs.sheets import (
    Attach,
    Draft,
    Order,
    SheetRow,
    Told,
    Wanted,
    draft_of_job,
    has_sheet,
    hash_of,
    identity_of,
    no_sheet,
    ordered,
)
from flangewise.jobs.suggest import work_out
from flangewise.part import Part
from flangewise.records import dataclass, replace
from flangewise.sequence import watch_for
from flangewise.shop import Shop

Ways = Mapping[str, tuple[Any, ...]]
FEWEST = 2
"""One size alone needs no table."""


@dataclass(frozen=True)
class FamilyOrder(Order):
    """The sheets of a family to be made: its leaf, under the first size for its part, and those of its sizes.

    `sizes`: each size's own sheet, should it need one; `kept`: the row of that where it lies there, made from the same.
    """

    name: str = ""
    sizes: tuple[Order, ...] = ()
    kept: tuple[SheetRow | None, ...] = ()


def family_ordered(
    name: str, parts: Sequence[Part], others: dict[str, bytes], wanted: Wanted, *, anew: bool
) -> FamilyOrder | tuple[SheetRow, ...]:
    """The order for the sheets of a family, or their rows where all lie there already, made from the same inputs."""
    hashes = [hash_of(part, others) for part in parts]
    hashed = sheet.plan_hash({"family": name.encode()} | {f"{n:04}": each.encode() for n, each in enumerate(hashes)})
    path = sheet.sheet_path(wanted.folder, name, html=False)
    record = sheet.read_record(path)
    found = [ordered(part, each, wanted, anew=anew) for part, each in zip(parts, hashes, strict=True)]
    kept = tuple(each if isinstance(each, SheetRow) else None for each in found)
    if record is not None and record.plan_hash == hashed and not anew:
        rows = [_kept(part, own, record, path, name) for part, own in zip(parts, kept, strict=True)]
        if all(row is not None for row in rows):
            return tuple(row for row in rows if row is not None)
    orders = tuple(
        each if isinstance(each, Order) else Order(part, own)
        for each, part, own in zip(found, parts, hashes, strict=True)
    )
    return FamilyOrder(parts[0], hashed, sheet.replaced_by(record, hashed), name, orders, kept)


def _kept(part: Part, own: SheetRow | None, record: sheet.Record, path: Path, name: str) -> SheetRow | None:
    """The row of a size whose sheet lies there, on the leaf or by itself; None where it has to be worked out."""
    told = next((each for each in record.sizes if each["part"] == part.name), None)
    if told is None:
        return None
    if told["differs"]:
        return None if own is None else replace(own, differs=tuple(told["differs"]))
    return SheetRow(part.name, part.file, path, record.pages, "kept", None, tuple(told["findings"]), leaf=name)


def family_drafted(order: FamilyOrder, shop: Shop, wanted: Wanted, *, attach: Attach, told: Told) -> tuple[Draft, ...]:
    """Work every size out and make the leaf of those that are made alike, and a sheet for each of the others.

    Nothing is read or written. Raises MissingPangoError where PDF cannot be made here.
    """
    jobs, plan_s = [], []
    for size in order.sizes:
        assert isinstance(size.part, Part)
        begun_s = time.monotonic()
        jobs.append(work_out(size.part, shop, watch_for(wanted.seconds)))
        plan_s.append(time.monotonic() - begun_s)
    ways = {index: ways_of(job) for index, job in enumerate(jobs) if has_sheet(job)}
    shown, begun_s = {index: printed(jobs[index], attach(jobs[index])) for index in ways}, time.monotonic()
    alike = max((_alike(ways, index) for index in ways if shown[index].run is None), key=len, default=())
    identity = identity_of(order, wanted)
    if len(alike) >= FEWEST:
        fit = sheet.fitting([shown[index] for index in alike], order.name, identity, wanted.settings)
        alike = tuple(alike[place] for place in fit)
    on_leaf = alike if len(alike) >= FEWEST else ()
    first = next(iter(alike or ways), 0)
    differs = {index: _differing(ways, index, first, shown) for index in ways if index not in on_leaf}
    path = sheet.sheet_path(wanted.folder, order.name, html=False)
    content, pages = None, None
    if on_leaf:
        sizes = [{"part": jobs[index].part.name, "findings": told(jobs[index]), "differs": []} for index in on_leaf]
        sizes += [{"part": jobs[i].part.name, "findings": [], "differs": list(each)} for i, each in differs.items()]
        record = sheet.Record(order.hashed, order.replaces, sizes=tuple(sizes))
        leaf = [shown[index] for index in on_leaf]
        content = sheet.family_bytes(leaf, order.name, identity, wanted.settings, record=record)
        made = sheet.record_in(content, pdf=True)
        pages = made.pages if made else None
    leaf_s = time.monotonic() - begun_s

    def draft(index: int, size: Order, job: Job, kept: SheetRow | None) -> Draft:
        part = job.part
        if index not in ways:
            return no_sheet(part, tuple(told(job)), by_hand=False)
        if index in differs:
            own = Draft(kept) if kept else draft_of_job(size, job, wanted, attach=attach, told=told)
            return replace(own, row=replace(own.row, differs=differs[index], plan_s=plan_s[index]))
        row = SheetRow(part.name, part.file, path, pages, "made", None, tuple(told(job)), leaf=order.name)
        row = replace(row, plan_s=plan_s[index], sheet_s=leaf_s)
        own_path = sheet.sheet_path(wanted.folder, part.name, html=False)
        return Draft(row, content if index == on_leaf[0] else None, own_path)

    drafts = [draft(*each) for each in zip(range(len(jobs)), order.sizes, jobs, order.kept, strict=True)]
    return tuple(drafts) if on_leaf else (replace(drafts[0], gone=path), *drafts[1:])


def ways_of(job: Job) -> Ways:
    """What sizes on one leaf have to have the same, by the word for it: all of a plan that is no figure."""
    assert job.setup is not None and job.pattern is not None
    steps = job.setup.steps
    return {
        "machine": (job.machine.name, job.handler.name),
        "units": (job.part.units,),
        "material": (job.part.material, job.part.thickness_mm),
        "order": tuple((step.bends, step.hit) for step in steps),
        "faces": (tuple(step.marked_face for step in steps), tuple(zone.toward for zone in job.pattern.zones)),
        "edges": tuple((step.planned.of_section.behind, step.gauged_on, step.gauged_bend) for step in steps),
        "tools": tuple(step.planned.mounting.name for step in steps),
        "moves": tuple(tuple((move.move, move.axis, move.words.code) for move in step.moves) for step in steps),
    }


def _alike(ways: Mapping[int, Ways], index: int) -> tuple[int, ...]:
    """The sizes that are made as one of them is, itself the first of all."""
    return tuple(other for other in ways if ways[other] == ways[index])


def _differing(
    ways: Mapping[int, Ways], index: int, first: int, shown: Mapping[int, sheet.SheetData]
) -> tuple[str, ...]:
    """What of a size is not as on the leaf, or where there is none as of the first, of which nothing is told."""
    if index == first:
        return () if shown[index].run is None else ("run",)
    found = tuple(name for name, way in ways[index].items() if way != ways[first][name])
    return found or (("run",) if shown[index].run is not None else ("shown",))
