"""Rows added to `measured.csv`: one writer at a time, the old file whole until the new one is, nothing twice."""

from __future__ import annotations

import fcntl
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from flangewise.faults import Fault, Unusable
from flangewise.shop import MeasuredRow, Shop, added_text, measured_text, parse_measured, text_of
from flangewise.writing import write_whole

# Beside the table, since the table itself is replaced by every writing.
LOCK_NAME = ".measured.lock"


@dataclass(frozen=True)
class Remembered:
    """What became of rows: written now, there before with the same figures, there before with others."""

    file: Path
    recorded: tuple[MeasuredRow, ...]
    kept: tuple[MeasuredRow, ...]
    differing: tuple[MeasuredRow, ...]


def place_to_record(shop: Shop) -> Path:
    """The file a shop's measured bends go to. Raises Unusable for the built-in shop, which is read only."""
    if shop.measured_file is None:
        wrong = "the built-in example shop cannot remember"
        fits = "copy it with `flangewise shop copy DIR` and give --shop DIR"
        raise Unusable([Fault("shop", None, None, "--record", wrong, fits)])
    return shop.measured_file


def remember(file: Path, rows: Sequence[MeasuredRow]) -> Remembered:
    """Add the rows whose lot, part, bend and piece the file does not hold yet; the others stand as they were.

    Waits for another writer to finish. The file is replaced in one step, so a reader, or whoever comes after a crash,
    finds the old one or the new one. Raises Unusable where the file that is there has faults: it is then left alone.
    """
    with _alone(file.with_name(LOCK_NAME)):
        text = text_of(file) if file.exists() else ""
        known = {row.identity: row for row in parse_measured(text, str(file)).rows}
        new = [row for row in rows if row.identity not in known]
        if new:
            write_whole(file, (added_text(text, new) if text.strip() else measured_text(new)).encode())
    old = [row for row in rows if row.identity in known]
    same = [row for row in old if _as_written(row) == _as_written(known[row.identity])]
    return Remembered(file, tuple(new), tuple(same), tuple(row for row in old if row not in same))


@contextmanager
def _alone(lock: Path) -> Iterator[None]:
    """Hold the lock of a shop folder; the system lets go of it when the process ends, however it ends."""
    with lock.open("a") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        yield


def _as_written(row: MeasuredRow) -> str:
    return added_text("", [row])
