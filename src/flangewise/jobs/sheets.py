"""The sheet of one part in its folder: kept, made, or withdrawn because the part is now refused."""

import dataclasses
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

from flangewise import __version__, sheet
from flangewise.findings import refused
from flangewise.jobs.job import Job
from flangewise.jobs.plan_file import from_plan
from flangewise.jobs.printed import printed
from flangewise.jobs.suggest import work_out
from flangewise.part import Part
from flangewise.shop import Shop
from flangewise.words import catalogue
from flangewise.writing import write_whole

Attach = Callable[[Job], tuple[sheet.Attachment, ...]]
Plan = Mapping[str, Any]


@dataclass(frozen=True)
class Wanted:
    """How sheets are to be made: into which folder, how printed, with which date on them (empty: none)."""

    folder: Path
    settings: sheet.Printing
    date: str = ""


@dataclass(frozen=True)
class SheetRow:
    """What became of one part's sheet. `findings` are records as the contract writes them.

    `by_hand`: it was to be printed from a plan edited by hand.
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
    options = repr((__version__, wanted.settings, wanted.date)).encode()
    return {**tables, **sheet.folder_inputs(sheet.TEMPLATES, "templates"), "words": words, "options": options}


def hash_of(part: Part, others: dict[str, bytes], plan: Plan | None = None) -> str:
    """The hash of one part's sheet, and of the plan it is printed from; where their files lie does not count."""
    by_hand = {} if plan is None else {"plan": repr(plan).encode()}
    return sheet.plan_hash({**others, **by_hand, "part": repr(replace(part, file="")).encode()})


def kept_row(part: Part, hashed: str, wanted: Wanted) -> SheetRow | None:
    """The row of a sheet that already lies there, made from the same inputs; None where it must be made."""
    path = sheet.sheet_path(wanted.folder, part.name, html=wanted.settings.html)
    record = sheet.read_record(path)
    if record is None or record.plan_hash != hashed:
        return None
    return SheetRow(part.name, part.file, path, record.pages, "kept", None, record.findings)


def made_row(
    part: Part,
    shop: Shop,
    wanted: Wanted,
    *,
    hashed: str,
    attach: Attach,
    told: Callable[[Job], Any],
    plan: Plan | None = None,
) -> SheetRow:
    """Work the part out and write its sheet; a part without a plan gets none, and its old one is withdrawn.

    `attach` makes the files that ride inside, `told` the records of the findings. With a `plan` edited by hand that is
    what is printed; where it is not passed the old sheet stays, for it is not the part that is refused.

    Raises Unusable where the plan cannot be read, MissingPangoError where PDF cannot be made here, OSError where the
    folder cannot be written.
    """
    path = sheet.sheet_path(wanted.folder, part.name, html=wanted.settings.html)
    job = work_out(part, shop) if plan is None else from_plan(part, shop, plan)
    findings = tuple(told(job))
    if not job.feasible or refused(job.findings):
        gone = sheet.withdraw(path) if plan is None else None
        return SheetRow(part.name, part.file, None, None, "failed", gone, findings, True, plan is not None)
    identity = sheet.Identity(hashed, __version__, sheet.replaced_by(sheet.read_record(path), hashed), wanted.date)
    record = sheet.Record(hashed, identity.replaces, None, findings)
    content = sheet.sheet_bytes(printed(job, attach(job)), identity, wanted.settings, record=record)
    write_whole(path, content)
    made = sheet.read_record(path)
    return SheetRow(part.name, part.file, path, made.pages if made else None, "made", None, findings)
