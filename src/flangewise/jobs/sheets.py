"""Sheets in their folder: kept, made, or withdrawn because the part is now refused."""

from __future__ import annotations

import dataclasses
import math
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from flangewise import __version__, sheet
from flangewise.findings import refused
from flangewise.jobs.job import Job
from flangewise.jobs.plan_file import from_plan
from flangewise.jobs.printed import printed
from flangewise.jobs.suggest import work_out
from flangewise.part import Part
from flangewise.records import dataclass, replace
from flangewise.sequence import watch_for
from flangewise.shop import Shop
from flangewise.words import catalogue
from flangewise.writing import write_whole

if TYPE_CHECKING:
    from flangewise.part import PanelPart

Attach = Callable[[Job], tuple[sheet.Attachment, ...]]
Told = Callable[[Job], list[dict[str, Any]]]
Plan = Mapping[str, Any]


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

    `leaf`: the family on whose leaf it stands; `differs`: what gave it a sheet of its own instead.
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
    leaf: str = ""
    differs: tuple[str, ...] = ()
    in_place_of: Path | None = None
    plan_s: float | None = None
    sheet_s: float | None = None


@dataclass(frozen=True)
class Order:
    """A sheet to be made: of which part, the hash of all its inputs, and that of the sheet it replaces ("": none)."""

    part: Part | PanelPart
    hashed: str
    replaces: str = ""


@dataclass(frozen=True)
class Draft:
    """A sheet before anything is written: its row as it will be, and its bytes; None where the part gets none.

    `gone`: a sheet that is withdrawn because another takes its place.
    """

    row: SheetRow
    content: bytes | None = None
    gone: Path | None = None


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


def ordered(part: Part | PanelPart, hashed: str, wanted: Wanted, *, anew: bool = False) -> Order | SheetRow:
    """The order for a part's sheet, or the row of the one that lies there already, made from the same inputs.

    `anew`: what lies there is not taken for the sheet.
    """
    path = sheet.sheet_path(wanted.folder, part.name, html=wanted.settings.html)
    record = sheet.read_record(path)
    if record is None or record.plan_hash != hashed or anew:
        return Order(part, hashed, sheet.replaced_by(record, hashed))
    return SheetRow(part.name, part.file, path, record.pages, "kept", None, record.findings)


def drafted(order: Order, shop: Shop, wanted: Wanted, *, attach: Attach, told: Told, plan: Plan | None = None) -> Draft:
    """Work the part out and make its sheet; a part without a plan gets none. Nothing is read or written.

    `attach` makes the files that ride inside, `told` the records of the findings. With a `plan` edited by hand that is
    what is printed.

    Raises Unusable where the plan cannot be read, MissingPangoError where PDF cannot be made here.
    """
    part = order.part
    assert isinstance(part, Part)
    watch, begun_s = watch_for(wanted.seconds), time.monotonic()
    job = work_out(part, shop, watch) if plan is None else from_plan(part, shop, plan, watch=watch)
    made = draft_of_job(order, job, wanted, attach=attach, told=told, by_hand=plan is not None)
    taken_s = time.monotonic() - begun_s - (made.row.sheet_s or 0.0)
    return made if made.content is None else replace(made, row=replace(made.row, plan_s=taken_s))


def draft_of_job(order: Order, job: Job, wanted: Wanted, *, attach: Attach, told: Told, by_hand: bool = False) -> Draft:
    """The sheet of a part worked out. Raises MissingPangoError where PDF cannot be made here."""
    part, findings, begun_s = order.part, tuple(told(job)), time.monotonic()
    if not has_sheet(job):
        return no_sheet(part, findings, by_hand=by_hand)
    record = sheet.Record(order.hashed, order.replaces, None, findings)
    shown = printed(job, attach(job), moving=wanted.settings.html)
    content = sheet.sheet_bytes(shown, identity_of(order, wanted), wanted.settings, record=record)
    made = draft_of(part, wanted, content, findings)
    return replace(made, row=replace(made.row, sheet_s=time.monotonic() - begun_s))


def has_sheet(job: Job) -> bool:
    """Whether a part worked out has a plan and nothing refuses it."""
    return bool(job.feasible) and not refused(job.findings)


def identity_of(order: Order, wanted: Wanted) -> sheet.Identity:
    """What the sheet of an order says of itself in print."""
    return sheet.Identity(order.hashed, __version__, order.replaces, wanted.date)


def no_sheet(part: Part | PanelPart, findings: tuple[dict[str, Any], ...], *, by_hand: bool) -> Draft:
    """What comes of a part that is refused."""
    return Draft(SheetRow(part.name, part.file, None, None, "failed", None, findings, True, by_hand))


def draft_of(part: Part | PanelPart, wanted: Wanted, content: bytes, findings: tuple[dict[str, Any], ...]) -> Draft:
    """A sheet made, with its row."""
    path = sheet.sheet_path(wanted.folder, part.name, html=wanted.settings.html)
    made = sheet.record_in(content, pdf=not wanted.settings.html)
    return Draft(SheetRow(part.name, part.file, path, made.pages if made else None, "made", None, findings), content)


def settled(draft: Draft, wanted: Wanted) -> SheetRow:
    """Write a sheet to its place, whole, and give its row; the old sheet of a part that is refused is withdrawn.

    One that was kept has nothing to write.

    Where a plan edited by hand is not passed the old sheet stays, for it is not the part that is refused. Raises
    OSError where the folder cannot be written.
    """
    row = draft.row
    gone = None if draft.gone is None else sheet.withdraw(draft.gone)
    row = row if gone is None else replace(row, superseded=gone)
    if row.sheet is not None and draft.content is not None:
        return replace(row, in_place_of=write_whole(row.sheet, draft.content))
    if row.by_hand or row.status != "failed":
        return row
    path = sheet.sheet_path(wanted.folder, row.part, html=wanted.settings.html)
    return replace(row, superseded=sheet.withdraw(path))
