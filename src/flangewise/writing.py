"""Files written whole or not at all: to a temporary name beside the place, then renamed onto it."""

import contextlib
import os
import tempfile
from pathlib import Path

# What a new file may be read and written by, before the user's own mask.
OPEN_TO_ALL = 0o666


def write_whole(path: Path, content: bytes, *, through_link: bool = False) -> Path | None:
    """Write a file so that whoever looks sees the old one or the new one, never a part of it.

    Folders above it are made; an old file's rights are kept, a new one gets the usual ones. A link becomes a file, and
    where it led is given back, for what lies there is nobody's to change; with `through_link` the link is kept and what
    it leads to replaced. Interrupted, the old file stands and nothing is left beside it. Raises OSError.
    """
    led_to = path.readlink() if path.is_symlink() and not through_link else None
    target = path.resolve() if through_link else path
    target.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=".", suffix=".tmp")
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fchmod(file.fileno(), _rights(target))
            os.fsync(file.fileno())
        temporary.replace(target)
    except BaseException:
        with contextlib.suppress(OSError):
            temporary.unlink()
        raise
    return led_to


def _rights(target: Path) -> int:
    """An old file's own; for a new one, or where a link was, the usual ones."""
    if target.is_file() and not target.is_symlink():
        return target.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return OPEN_TO_ALL & ~mask
