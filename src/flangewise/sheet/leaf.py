"""How the pages of a sheet share their height: the job in front, the steps, the record behind. Heights in mm.

One hit: all on one page. Two or three: job and order in front, the record on the back of the same leaf. More: the order
as a strip of frames in front, all steps on the back, the record on a leaf of its own. Pictures take what the lines of
text leave, so that little stays white.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from flangewise import drawing as draw
from flangewise.sheet.data import SheetData
from flangewise.sheet.wording import Wording

WIDE_MM = 180.0
POINT_MM = 25.4 / 72
ON_FRONT = 3
"""So many steps stand in front with the job; with more they get the back of the leaf."""
FRAMES_A_ROW = 3
BAND_MM = 37.5
"""A step's row without its picture's growth: heading, numbers, what to read, its line of reasons."""
MOVE_MM = 8.6
"""The row of a move before a step."""
PICTURE_MM = 26.0
"""The least height of a step's picture."""
HEAD_MM = 27.0
CELLS_MM = 9.0
TOOLS_MM = 25.0
PAIR_MM = 14.5
COMMON_MM = 25.0
TITLE_MM = 6.4
MEASURE_MM = 9.0
LEAST_PICTURES_MM, MOST_PICTURES_MM = 36.0, 84.0
STRIP_MM = 30.0


@dataclass(frozen=True)
class Leaf:
    """The heights of what can grow, in mm: the two pictures of the job, a step's picture, a strip's frame, the boxes."""

    pictures_mm: float
    picture_mm: float
    frame_mm: float
    notes_mm: float
    bed_mm: float
    lie_mm: float
    boxed: bool


def lines_of(words: str, size_pt: float, *, wide_mm: float = WIDE_MM, bold: bool = False) -> int:
    """How many lines a sentence takes, broken between words."""
    size_mm, lines, at_mm = size_pt * POINT_MM, 1, 0.0
    for word in words.split():
        word_mm = draw.text_width_mm(word + " ", size_mm, bold=bold)
        if at_mm + word_mm > wide_mm and at_mm > 0:
            lines, at_mm = lines + 1, 0.0
        at_mm += word_mm
    return lines


def height_of(lines: Sequence[str], size_pt: float, *, wide_mm: float = WIDE_MM, bold: bool = False) -> float:
    """The height of sentences one under the other."""
    count = sum(lines_of(line, size_pt, wide_mm=wide_mm, bold=bold) for line in lines)
    return count * size_pt * POINT_MM * 1.25


def leaf_of(sheet: SheetData, page: Mapping[str, Any], wording: Wording, *, high_mm: float) -> Leaf:
    """The heights for a sheet whose words are known, on a page of a height between its margins."""
    return Leaf(46.0, 28.0, 40.0 if len(sheet.steps) > ON_FRONT else 0.0, 24.0, 0.0, 11.0, False)
