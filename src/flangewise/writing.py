"""Files written whole or not at all: to a temporary name beside the place, then renamed onto it.

Who writes holds a lock on the temporary file, which goes with the process that held it: by that a later run knows what
was left by one that was killed.
"""

import contextlib
import fcntl
import os
import tempfile
from pathlib import Path

# What a new file may be read and written by, before the user's own mask.
OPEN_TO_ALL = 0o666
# What is being written has such a name beside its place, so that nobody takes it for a file of theirs.
BEGUN_PREFIX, BEGUN_SUFFIX = ".flangewise-", ".tmp"
# Younger than this it may be so new that its writer has not locked it yet.
SURELY_LOCKED_S = 60.0


def write_whole(path: Path, content: bytes, *, through_link: bool = False) -> Path | None:
    """Write a file so that whoever looks sees the old one or the new one, never a part of it.

    Folders above it are made; an old file's rights are kept, a new one gets the usual ones. A link becomes a file, and
    where it led is given back, for what lies there is nobody's to change; with `through_link` the link is kept and what
    it leads to replaced. Interrupted, the old file stands and nothing is left beside it. Raises OSError.
    """
    led_to = path.readlink() if path.is_symlink() and not through_link else None
    target = path.resolve() if through_link else path
    target.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=BEGUN_PREFIX, suffix=BEGUN_SUFFIX)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            _lock(file.fileno())
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


def _lock(handle: int) -> bool:
    """Lock a file for as long as it is open; False where somebody else holds it, or no lock can be had there."""
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def clear_left(folder: Path) -> int:
    """Remove what writers that were killed left half written in a folder; how many files.

    Only what has our own name, is locked by nobody and is older than its writer would need to lock it goes: a run that
    is still at work loses nothing. Ages are told by the folder's own clock, and one in the future is no age. What
    cannot be looked at or removed stays.
    """
    left = [path for path in _begun_in(folder) if path.is_file() and not path.is_symlink()]
    cleared = 0
    with contextlib.suppress(OSError):
        if left:
            with tempfile.TemporaryFile(dir=folder) as probe:
                now_s = os.fstat(probe.fileno()).st_mtime
            cleared = sum(_cleared(path, now_s) for path in left)
    return cleared


def _begun_in(folder: Path) -> list[Path]:
    try:
        return sorted(folder.glob(f"{BEGUN_PREFIX}*{BEGUN_SUFFIX}"))
    except OSError:
        return []


def _cleared(path: Path, now_s: float) -> bool:
    try:
        with path.open("rb") as file:
            old = abs(now_s - os.fstat(file.fileno()).st_mtime) > SURELY_LOCKED_S
            if not old or not _lock(file.fileno()):
                return False
            path.unlink()
    except OSError:
        return False
    return True


def folds_case(folder: Path) -> bool:
    """Whether names that differ only in capitals are one file in a folder, or where it would be made.

    False where nothing can be written there to find out.
    """
    place = next((each for each in (folder, *folder.absolute().parents) if each.is_dir()), Path())
    try:
        with tempfile.NamedTemporaryFile(dir=place, prefix=BEGUN_PREFIX, suffix=BEGUN_SUFFIX) as probe:
            written = Path(probe.name)
            return written.with_name(written.name.upper()).exists()
    except OSError:
        return False
