"""The front of the room: a drawing's file read within bounds of size and time."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

from flangewise.drawn.blank import DrawnBlank, DrawnWish, Undrawn
from flangewise.findings import refuse

# A blank is some hundred kilobytes; what is larger holds more than a blank.
LARGEST_BYTES = 20_000_000
BYTES_PER_MB = 1_000_000
# What so many entities as are read at most take, about; a blank alone takes some hundredths.
LONGEST_S = 20.0


def read_drawing(
    path: Path,
    wish: DrawnWish | None = None,
    *,
    longest_s: float = LONGEST_S,
    clock: Callable[[], float] = time.process_time,
) -> DrawnBlank:
    """The blank that a DXF drawing shows. Nothing but this file is read, whatever it refers to.

    Raises Undrawn with every fault of the drawing: one that cannot be read, is too large or takes this process longer
    than `longest_s`, is not one closed sheet, or whose bend lines do not part it into a tree of faces with a turn each.
    """
    try:
        if not path.is_file():
            raise Undrawn([refuse("drawn-missing")])
        with path.open("rb") as file:
            raw = file.read(LARGEST_BYTES + 1)
    except (OSError, ValueError):
        raise Undrawn([refuse("drawn-missing")]) from None
    if len(raw) > LARGEST_BYTES:
        raise Undrawn([refuse("drawn-large", most=LARGEST_BYTES // BYTES_PER_MB)])
    # The libraries that read and cut it take longer to load than all the rest: only where there is a drawing.
    from flangewise.drawn.sheet import blank_of

    return blank_of(raw, wish or DrawnWish(), longest_s=longest_s, clock=clock)
