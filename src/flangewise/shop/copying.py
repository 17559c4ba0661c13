"""The built-in tables written out to a folder, to be edited there."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from flangewise.faults import Fault, Unusable
from flangewise.shop.load import BUILT_IN


def copy_shop(to: Path) -> tuple[Path, ...]:
    """Write the built-in tables, comments and sources included, to a folder; gives the files written.

    The folder must be new or empty: nothing is ever overwritten. It appears whole or not at all, and is as readable as
    any new folder. Raises Unusable where something stands in its place, OSError where it cannot be written.
    """
    if to.is_symlink() or (to.exists() and not to.is_dir()):
        raise Unusable([_taken(to, "is a file or a link")])
    if to.is_dir() and any(to.iterdir()):
        raise Unusable([_taken(to, "is not empty")])
    above = to.resolve().parent
    above.mkdir(parents=True, exist_ok=True)
    temporary = Path(tempfile.mkdtemp(dir=above, prefix=".shop-"))
    try:
        fresh = temporary / "shop"
        fresh.mkdir()
        for file in sorted(BUILT_IN.iterdir()):
            if file.is_file():
                (fresh / file.name).write_bytes(file.read_bytes())
        _put_in_place(fresh, to)
    finally:
        shutil.rmtree(temporary, ignore_errors=True)
    return tuple(sorted(to.iterdir()))


def _put_in_place(fresh: Path, to: Path) -> None:
    """An empty folder of that name is replaced; one that was filled in the meantime stays and is a fault."""
    try:
        fresh.rename(to)
    except OSError as error:
        if to.is_dir() and any(to.iterdir()):
            raise Unusable([_taken(to, "is not empty")]) from None
        raise error from None


def _taken(to: Path, wrong: str) -> Fault:
    return Fault(str(to), None, None, "shop copy", wrong, "name a new or empty folder; nothing is overwritten")
