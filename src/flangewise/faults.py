"""An input that cannot be used: where it stands, what is wrong, and what would be right."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One thing in an input that cannot be used.

    `line` and `column` count from 1 and are None where the fault has no place in a text (a missing file, an option).
    `where` names the place in the user's words, `wrong` what is wrong there, `fits` what would be right.
    """

    file: str
    line: int | None
    column: int | None
    where: str
    wrong: str
    fits: str

    @property
    def text(self) -> str:
        """The fault as its one line: FILE:LINE:COLUMN: where: what is wrong, and what would be right."""
        place = ":".join(str(piece) for piece in (self.file, self.line, self.column) if piece is not None)
        told = (
            f"{place}: {self.where}: {self.wrong}, {self.fits}" if self.where else f"{place}: {self.wrong}, {self.fits}"
        )
        return printable(told)


class Unusable(Exception):  # noqa: N818 - named for what the user is told, not for Python
    """Raised by a loader with all the faults of one input; it survives the way back from a worker process."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__(self.faults)

    def __str__(self) -> str:
        return "\n".join(fault.text for fault in self.faults)


def nearest(name: str, names: Iterable[str]) -> str | None:
    """The name among `names` most like `name`, or None where nothing comes near; upper and lower case count alike."""
    by_lower = {known.lower(): known for known in names}
    found = difflib.get_close_matches(name.lower(), by_lower, n=3, cutoff=0.5)
    best = max(
        (each for each in by_lower if each in found), key=lambda each: _likeness(name.lower(), each), default=None
    )
    return by_lower[best] if best is not None else None


def _likeness(name: str, known: str) -> tuple[float, float]:
    """How like two names are; of two as like, that of the same letters in another order, then the first."""
    in_order = difflib.SequenceMatcher(None, known, name).ratio()
    return in_order, difflib.SequenceMatcher(None, sorted(known), sorted(name)).ratio()


def name_fits(name: str, names: Iterable[str]) -> str:
    """What would be right instead of an unknown name: the nearest one, or the first few that exist."""
    known = tuple(names)
    near = nearest(name, known)
    if near is not None:
        return f"did you mean {near!r}?"
    return "known are " + ", ".join(known[:8]) + (" ..." if len(known) > 8 else "") if known else "none are known"


def printable(text: str) -> str:
    """The text with line breaks and control characters written out, so that one fault stays one line."""
    return "".join(sign if sign.isprintable() else sign.encode("unicode_escape").decode("ascii") for sign in text)
