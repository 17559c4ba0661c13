"""Sheets in their folder, kept, made, or withdrawn because the part is now refused; many of them on any executor."""

from __future__ import annotations

import dataclasses
import math
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TypeVar

from flangewise import __version__, sheet
from flangewise.findings import refused
from flangewise.jobs.job import Job
from flangewise.jobs.plan_file import from_plan
from flangewise.jobs.printed import printed
from flangewise.jobs.suggest import work_out
from flangewise.part import Part
from flangewise.sequence import watch_for
from flangewise.shop import Shop
from flangewise.words import catalogue
from flangewise.writing import write_whole

if TYPE_CHECKING:
    from flangewise.part import PanelPart

Attach = Callable[[Job], tuple[sheet.Attachment, ...]]
Told = Callable[[Job], list[dict[str, Any]]]
Plan = Mapping[str, Any]
Work = TypeVar("Work")
Result = TypeVar("Result")


@dataclass(frozen=True)
class Wanted:
    """How sheets are to be made: where, how printed, with which date (empty: none), how long searched for each part."""

    folder: Path
    settings: sheet.Printing
    date: str = ""
    seconds: float = math.inf


@dataclass(frozen=True)
class SheetRow:
    """What became of one part's sheet, which may be printed `by_hand`; `findings` as the contract writes them.

    `in_place_of`: where a link led that stood at the sheet's place. `plan_s` and `sheet_s`: by the clock, how long the
    planning took and how long the printing.
    """

    part: str
    file: str
    sheet: Path | None
    pages: int | None
    status: Literal["made", "kept", "failed"]
    superseded: Path | None
    findings: tuple[dict[str, Any], ...]
    refused: bool = False
    by_hand: bool = False
    in_place_of: Path | None = None
    plan_s: float | None = None
    sheet_s: float | None = None


def shop_inputs(shop: Shop, wanted: Wanted) -> dict[str, bytes]:
    """All that sheets are made from but the part itself: the shop, what it measured, templates, words, options.

    The shop's own folder name does not count: the same tables elsewhere make the same sheets.
    """
    tables = {
        f"shop/{field.name}": repr(getattr(shop, field.name)).encode()
        for field in dataclasses.fields(shop)
        if field.name != "folder"
    }
    file = shop.measured_file
    if file is not None and file.exists():
        tables["shop/measured"] = file.read_bytes()
    words = repr(sorted(catalogue(wanted.settings.lang).items())).encode()
    options = repr((__version__, wanted.settings, wanted.date, wanted.seconds)).encode()
    return {**tables, **sheet.folder_inputs(sheet.TEMPLATES, "templates"), "words": words, "options": options}


def hash_of(part: Part | PanelPart, others: dict[str, bytes], plan: Plan | None = None) -> str:
    """The hash of one part's sheet, and of the plan it is printed from; where their files lie does not count."""
    by_hand = {} if plan is None else {"plan": repr(plan).encode()}
    return sheet.plan_hash({**others, **by_hand, "part": repr(replace(part, file="")).encode()})


def kept_row(part: Part | PanelPart, hashed: str, wanted: Wanted) -> SheetRow | None:
    """The row of a sheet that already lies there, made from the same inputs; None where it must be made."""
    path = sheet.sheet_path(wanted.folder, part.name, html=wanted.settings.html)
    record = sheet.read_record(path)
    if record is None or record.plan_hash != hashed:
        return None
    return SheetRow(part.name, part.file, path, record.pages, "kept", None, record.findings)


def made_row(
    part: Part, shop: Shop, wanted: Wanted, *, hashed: str, attach: Attach, told: Told, plan: Plan | None = None
) -> SheetRow:
    """Work the part out and write its sheet; a part without a plan gets none, and its old one is withdrawn.

    `attach` makes the files that ride inside, `told` the records of the findings. With a `plan` edited by hand that is
    what is printed; where it is not passed the old sheet stays, for it is not the part that is refused.

    Raises Unusable where the plan cannot be read, MissingPangoError where PDF cannot be made here, OSError where the
    folder cannot be written.
    """
    path = sheet.sheet_path(wanted.folder, part.name, html=wanted.settings.html)
    watch, begun_s = watch_for(wanted.seconds), time.monotonic()
    job = work_out(part, shop, watch) if plan is None else from_plan(part, shop, plan, watch=watch)
    findings, planned_s = tuple(told(job)), time.monotonic()
    if not job.feasible or refused(job.findings):
        gone = sheet.withdraw(path) if plan is None else None
        return SheetRow(part.name, part.file, None, None, "failed", gone, findings, True, plan is not None)
    identity = sheet.Identity(hashed, __version__, sheet.replaced_by(sheet.read_record(path), hashed), wanted.date)
    record = sheet.Record(hashed, identity.replaces, None, findings)
    shown = printed(job, attach(job), moving=wanted.settings.html)
    content = sheet.sheet_bytes(shown, identity, wanted.settings, record=record)
    led_to = write_whole(path, content)
    made = sheet.read_record(path)
    pages = made.pages if made else None
    return SheetRow(
        *(part.name, part.file, path, pages, "made", None, findings),
        in_place_of=led_to,
        plan_s=planned_s - begun_s,
        sheet_s=time.monotonic() - planned_s,
    )


def each_outcome(
    do: Callable[[Work], Result], works: Sequence[Work], *, executor: Executor | None = None
) -> Iterator[Result | Exception]:
    """Do every piece of work and give its results, or what went wrong, in its order, each as soon as it is ready.

    Without an executor all is done here, one after the other. With one, `do` and the works must be such that they can
    be handed to it: for processes, functions of a module and plain data. Work left when the reader stops is cancelled.
    A pool that breaks because one of its processes died gives an error for every piece it could not finish.
    """
    futures: list[Future[Result]] = []
    try:
        if executor is not None:
            futures.extend(executor.submit(do, work) for work in works)
        done = [future.result for future in futures] or [partial(do, work) for work in works]
        for get in done:
            # Whatever a part does, the run goes on.
            try:
                outcome: Result | Exception = get()
            except Exception as error:
                outcome = error
            yield outcome
    finally:
        for future in futures:
            future.cancel()


def processes(count: int, works: int) -> AbstractContextManager[Executor | None]:
    """So many processes, or none at all where one would do: the executor used where no other is asked for."""
    useful = min(count, works)
    return ProcessPoolExecutor(useful) if useful > 1 else nullcontext(None)
