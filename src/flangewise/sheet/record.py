"""What a finished sheet says of itself, written into it and read back by the next run: hash, predecessor, findings."""

import base64
import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from flangewise.records import dataclass

RECORD_NAME = "flangewise-record"
RECORD_MARK = b"flangewise-record:"
HASH_LETTERS = 12
"""Letters of the hash that are printed: 48 bits, enough to tell the plans of one shop apart."""
WITHDRAWN = ".superseded"
"""What stands after a part's name where its sheet was withdrawn; no part with a sheet has a name that ends so."""
_IN_PDF = re.compile(re.escape(RECORD_MARK) + rb"([A-Za-z0-9_=-]+)")
_IN_HTML = re.compile(rb'<meta name="' + RECORD_NAME.encode() + rb'" content="([A-Za-z0-9_=-]+)">')


@dataclass(frozen=True)
class Record:
    """What a finished sheet says of itself, to be read back by the next run: its hash, what it replaces, findings.

    `sizes`: of the leaf of a family each size by its name, with its findings, or with what gave it a sheet of its own.
    """

    plan_hash: str
    replaces: str = ""
    pages: int | None = None
    findings: tuple[dict[str, Any], ...] = ()
    sizes: tuple[dict[str, Any], ...] = ()


def encoded(record: Record) -> str:
    """The record in plain letters, so that it can be found in the bytes of a PDF or HTML file."""
    return base64.urlsafe_b64encode(json.dumps(asdict(record), sort_keys=True).encode()).decode()


def plan_hash(inputs: Mapping[str, bytes]) -> str:
    """One short hash of everything a sheet is made from, whatever order it is named in."""
    digest = hashlib.sha256()
    for name in sorted(inputs):
        for piece in (name.encode(), inputs[name]):
            digest.update(len(piece).to_bytes(8, "big") + piece)
    return digest.hexdigest()[:HASH_LETTERS]


def folder_inputs(folder: Path, prefix: str) -> dict[str, bytes]:
    """The files of a folder as inputs of a hash, by their path below it; hidden ones left out."""
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    names = ((path.relative_to(folder).as_posix(), path) for path in files)
    return {f"{prefix}/{name}": path.read_bytes() for name, path in names if "/." not in f"/{name}"}


def sheet_path(folder: Path, part: str, *, html: bool) -> Path:
    """Where the sheet of a part lies."""
    return folder / f"{part}{'.html' if html else '.pdf'}"


def read_record(sheet: Path) -> Record | None:
    """What a sheet says of itself; None where there is none, or a file that is not one of ours or is not whole."""
    try:
        content = sheet.read_bytes()
    except OSError:
        return None
    return record_in(content, pdf=sheet.suffix == ".pdf")


def record_in(content: bytes, *, pdf: bool) -> Record | None:
    """What the bytes of a sheet say of it; None where they are not one of ours or not whole."""
    whole = content.rstrip().endswith(b"%%EOF" if pdf else b"</html>")
    found = (_IN_PDF if pdf else _IN_HTML).search(content)
    return _decoded(found.group(1)) if found and whole else None


def _decoded(coded: bytes) -> Record | None:
    try:
        told: dict[str, Any] = json.loads(base64.urlsafe_b64decode(coded))
        return Record(told["plan_hash"], told["replaces"], told["pages"], tuple(told["findings"]), tuple(told["sizes"]))
    except (ValueError, KeyError, TypeError):
        return None


def replaced_by(old: Record | None, new_hash: str) -> str:
    """The hash that a new sheet replaces: that of an older sheet, or what the same sheet already said it replaces."""
    if old is None:
        return ""
    return old.replaces if old.plan_hash == new_hash else old.plan_hash


def withdraw(sheet: Path) -> Path | None:
    """Rename the sheet of a part that is now refused; the new name, or None where no sheet lies there any more."""
    gone = sheet.with_name(f"{sheet.stem}{WITHDRAWN}{sheet.suffix}")
    try:
        sheet.replace(gone)
    except FileNotFoundError:
        return None
    return gone
