"""How much room a text takes: letter widths of DejaVu Sans, the font that pictures and sheets are set in.

The widths come with the package (`widths.txt`, derived from the font files by a committed script), so a picture is
laid out the same on a machine without the font.
"""

from functools import cache
from importlib.resources import files

UNITS_PER_EM = 2048
TOP = 0.8
"""Top of the plain letters and brackets above the base line, in em."""
TOP_ACCENTED = 0.93
"""Top of an accented capital, in em."""
BOTTOM = 0.24
"""Lowest point of the letters and brackets below the base line, in em."""
_ACCENTED_CAPITALS = frozenset("ÀÁÂÃÄÅÈÉÊËÌÍÎÏÑÒÓÔÕÖÙÚÛÜÝ")


@cache
def _widths(weight: str) -> dict[int, int]:
    """Letter code to advance width, in units, for one weight of the font."""
    found: dict[int, int] = {}
    for row in files("flangewise.drawing").joinpath("widths.txt").read_text("ascii").splitlines():
        if row.startswith(weight):
            first, *widths = row.split()[1:]
            found.update(enumerate((int(width) for width in widths), start=int(first, 16)))
    return found


def text_width_mm(words: str, size_mm: float, *, bold: bool = False) -> float:
    """Width of one line of text: the sum of its letters' advance widths, size_mm being the em.

    Kerning is left out (it only narrows). A letter the table lacks counts a whole em, more than nearly all take.

    >>> round(text_width_mm("H", 2.048), 3)   # 1540 units of the font
    1.54
    """
    widths = _widths("bold" if bold else "regular")
    return sum(widths.get(ord(letter), UNITS_PER_EM) for letter in words) * size_mm / UNITS_PER_EM


def top_of_text(words: str) -> float:
    """How high the letters of a text reach above the base line, in em."""
    return TOP_ACCENTED if _ACCENTED_CAPITALS & set(words) else TOP
