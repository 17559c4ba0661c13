"""How the pages of a sheet share their height: the job and its steps in front, the record behind. Heights in mm.

One hit: all on one page. Two or three: job and order in front, the record on the back of the same leaf; what of the
steps finds no room in front begins the back. More: the order as a strip of frames in front, all steps on the back, the
record on a leaf of its own. Pictures take what the lines of text leave, so that little stays white. The heights of the
lines are those of the style sheet, their number follows from the widths of the letters.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from flangewise.records import dataclass, replace
from flangewise.sheet.data import SheetData
from flangewise.sheet.heights import (
    BOXES_MM,
    KEPT_MM,
    LIE_MM,
    LOW_MM,
    PICTURE_MM,
    ROW_MM,
    SMALL_MM,
    facts_beside,
    frame_heads,
    frames_a_row,
    height_of,
    job_height,
    record_height,
    step_height,
)
from flangewise.sheet.wording import Wording

ON_FRONT = 3
"""So many steps stand in front with the job; with more they get the back of the leaf."""
LOW_PICTURE_MM = 20.6
"""Where words are long, rather than another page."""
PICTURES_MM = (36.0, 88.0)
"""Least and most height of the section and of the blank."""
LEAST_PICTURES_MM = 26.4
"""Where words are long, rather than another page."""
FRAME_MM = (34.0, 56.0)
LOW_FRAME_MM, CROWDED_MM = 30.0, 8.0
"""Frames are no lower where the page is crowded; so much more than the least the pictures should have."""
STRIP_SPARE_MM, SINGLE_SPARE_MM, OVER_MM, BEHIND_SPARE_MM = 2.0, -1.5, 2.0, 1.5
FRONT_SPARE_MM = -2.5
"""What is kept free at the foot of a page of its kind, the estimates being a little high."""
BED_MM = 27.0
SPARE_MM = 1.5
"""Kept free at the foot of a page, for what the estimate of lines may miss."""
NOTES_MM = (9.0, 130.0)
FEW_ROWS = 2
SECTION_MM = (88.0, 106.0)
"""Width of the section's picture, and where it has many legs; that of the blank has the rest."""
FRAME_WIDE_MM = (57.0, 87.0)
"""Width of a frame of the strip, and of one of four."""
MANY_BENDS = 4


@dataclass(frozen=True)
class Leaf:
    """The heights of what can grow: the job's two pictures, a step's picture and how the part then lies, a frame of
    the strip, the picture of the bed, the boxes to write in; 0 for what is left out. `boxed`: boxes at every step;
    `log_rows`: rows of the run's log; `all_told`: whether loads that do not govern, and notes, are told. `tight`: steps
    go without pictures of their own, for the strip shows them; `apart`: the record begins a page; `section_mm`: the
    width of the section's picture; `kept_mm`: the boxes beside the log; `frame_wide_mm`: the width of a frame;
    `beside`: so many of the facts stand in the title."""

    pictures_mm: float
    picture_mm: float
    lie_mm: float
    frame_mm: float
    bed_mm: float
    notes_mm: float
    boxed: bool
    log_rows: int
    all_told: bool = True
    tight: bool = False
    apart: bool = False
    section_mm: float = SECTION_MM[0]
    kept_mm: float = KEPT_MM[1]
    frame_wide_mm: float = FRAME_WIDE_MM[0]
    beside: int = 0


def most_pages(sheet: SheetData) -> int:
    """How many pages a sheet has: one hit stands on one, two or three on a leaf of two, more on three.

    A page of a run is one more.
    """
    leaf = min(len(sheet.steps), 2 if len(sheet.steps) <= ON_FRONT else 3)
    return leaf + (sheet.run is not None)


def leaf_of(sheet: SheetData, page: Mapping[str, Any], wording: Wording, *, high_mm: float) -> Leaf:
    """The heights for a sheet whose words are known, on pages so high between their margins."""
    return replace(_heights(sheet, page, wording, high_mm=high_mm), beside=facts_beside(sheet, page, wording))


def _heights(sheet: SheetData, page: Mapping[str, Any], wording: Wording, *, high_mm: float) -> Leaf:
    count, job_mm, record_mm = len(sheet.steps), job_height(sheet, page, wording), record_height(sheet, page, wording)
    room_mm = high_mm - SPARE_MM
    bare = [step_height(sheet, step, wording) for step in sheet.steps]
    if count == 1:
        told_mm = height_of([page["told_last"]], SMALL_MM)
        return _one_page(bare, job_mm + record_mm, room_mm, rows=len(page["pieces"]), told_mm=told_mm)
    if count > ON_FRONT:
        return _strip_in_front(sheet, bare, wording, job_mm, record_mm, room_mm, rows=len(page["pieces"]))
    behind_room_mm, room_mm = room_mm, room_mm - FRONT_SPARE_MM
    lowest_mm = PICTURE_MM[0]
    if job_mm + PICTURES_MM[0] + sum(bare[:-1]) > room_mm:
        lowest_mm = LOW_PICTURE_MM
        bare = [step_height(sheet, step, wording, lowest_mm=lowest_mm) for step in sheet.steps]
    if job_mm + LEAST_PICTURES_MM + sum(bare[:-1]) > room_mm:  # No leaf holds it: it is laid out as more hits are.
        return _strip_in_front(sheet, bare, wording, job_mm, record_mm, behind_room_mm, rows=len(page["pieces"]))
    boxes_mm = [each + BOXES_MM for each in bare]
    behind_free_mm = behind_room_mm - BEHIND_SPARE_MM - record_mm
    # Rather fewer steps in front than steps without boxes to write in.
    held = (
        few
        for few in (count, count - 1)
        if _with(boxes_mm[:few], job_mm) + 4.0 <= room_mm and sum(boxes_mm[few:]) <= behind_free_mm
    )
    front = next(held, 0)
    boxed = front > 0
    if not boxed:
        front = next((few for few in (count, count - 1) if _with(bare[:few], job_mm) <= room_mm), count - 1)
    steps_mm = [each + BOXES_MM * boxed for each in bare]
    left_mm = room_mm - _with(steps_mm[:front], job_mm)
    several = len({id(station) for station in sheet.setup.stations}) > 1
    bed_mm = BED_MM if several and left_mm > BED_MM else 0.0
    grown_mm = min(max(left_mm - bed_mm, 0.0) * 0.4 / front, PICTURE_MM[1] - PICTURE_MM[0] - BOXES_MM)
    pictures_mm = PICTURES_MM[0] + left_mm - bed_mm - grown_mm * front
    behind_mm = behind_free_mm - sum(steps_mm[front:]) - grown_mm * (count - front)
    rows, all_told = len(page["pieces"]), True
    if behind_mm < 0.0:
        # Where words are long the run gets fewer rows; where that is not enough, what does not govern is left out.
        rows, behind_mm = FEW_ROWS, behind_mm + (rows - FEW_ROWS) * ROW_MM
        all_told = behind_mm >= 0.0
    leaf = _leaf(pictures_mm, grown_mm, 0.0, bed_mm, behind_mm, boxed=boxed)
    lower_mm = PICTURE_MM[0] - lowest_mm
    return replace(
        leaf, log_rows=rows, all_told=all_told, apart=front == count, picture_mm=round(leaf.picture_mm - lower_mm, 1)
    )


def _with(steps_mm: Sequence[float], job_mm: float) -> float:
    return job_mm + PICTURES_MM[0] + sum(steps_mm)


def _one_page(bare: Sequence[float], fixed_mm: float, room_mm: float, *, rows: int, told_mm: float) -> Leaf:
    left_mm = room_mm - _with(bare, fixed_mm) - SINGLE_SPARE_MM
    all_told = left_mm >= -OVER_MM
    if not all_told:
        left_mm += told_mm
    low = left_mm < 0.0
    if low:
        # Where words are long the run gets a row less, and photo and packing lower boxes.
        rows, left_mm = rows - 1, left_mm + ROW_MM - LOW_MM
    # A box for notes only where the pictures are large already.
    notes_mm = min(max(left_mm - 14.0, 0.0), 18.0)
    left_mm -= notes_mm + 4.0 if notes_mm > NOTES_MM[0] else 0.0
    grown_mm = max(0.0, left_mm) * 0.2
    pictures_mm = PICTURES_MM[0] + left_mm - grown_mm
    return replace(
        _leaf(pictures_mm, grown_mm, 0.0, 0.0, notes_mm + 4.0, boxed=False),
        log_rows=rows,
        all_told=all_told,
        kept_mm=KEPT_MM[not low],
    )


def _strip_in_front(
    sheet: SheetData, bare: Sequence[float], wording: Wording, job_mm: float, record_mm: float, room_mm: float, *,
    rows: int,
) -> Leaf:  # fmt: skip
    log_rows, rows = rows, math.ceil(len(bare) / frames_a_row(len(bare)))
    left_mm = (
        room_mm
        - job_mm
        - PICTURES_MM[0]
        - rows * FRAME_MM[0]
        - frame_heads(sheet, frames_a_row(len(sheet.steps)), wording)
        - STRIP_SPARE_MM
    )
    # A section of many legs needs more room for its sizes.
    share = 0.5 if len(bare) <= 4 else 0.75
    over_mm, short_mm = max(0.0, left_mm), max(0.0, -left_mm)
    # Where little is left the frames give what they can, first for the page to hold all, then to the pictures.
    given_mm = min(rows * (FRAME_MM[0] - LOW_FRAME_MM), max(0.0, short_mm + CROWDED_MM - over_mm * share))
    pictures_mm = PICTURES_MM[0] + over_mm * share + max(0.0, given_mm - short_mm)
    frame_mm = FRAME_MM[0] + (over_mm * (1 - share) - given_mm) / rows
    tight = sum(bare) > room_mm
    if tight:
        bare = [step_height(sheet, step, wording, tight=True) for step in sheet.steps]
    # So many steps as the page behind holds; what is over stands over the record.
    held = max(few for few in range(1, len(bare) + 1) if sum(bare[:few]) <= room_mm or few == 1)
    boxed = held == len(bare) and sum(bare) + held * BOXES_MM <= room_mm
    left_mm = room_mm - sum(bare[:held]) - held * BOXES_MM * boxed
    grown_mm = left_mm / held
    notes_mm = room_mm - record_mm - sum(bare[held:])
    leaf = _leaf(pictures_mm, grown_mm, frame_mm, 0.0, notes_mm, boxed=boxed)
    section_mm = SECTION_MM[len(sheet.part.section.bends) > MANY_BENDS]
    wide_mm = FRAME_WIDE_MM[frames_a_row(len(bare)) == 2]
    return replace(
        leaf, log_rows=log_rows, tight=tight, apart=held == len(bare), section_mm=section_mm, frame_wide_mm=wide_mm
    )


def _leaf(
    pictures_mm: float, grown_mm: float, frame_mm: float, bed_mm: float, behind_mm: float, *, boxed: bool
) -> Leaf:
    """The heights within their limits, to whole tenths."""
    notes_mm = behind_mm - 4.0
    return Leaf(
        pictures_mm=_within(pictures_mm, (LEAST_PICTURES_MM, PICTURES_MM[1])),
        picture_mm=_within(PICTURE_MM[0] + grown_mm + BOXES_MM * boxed, PICTURE_MM),
        lie_mm=_within(LIE_MM[0] + 2.0 + grown_mm * 0.9, LIE_MM),
        frame_mm=_within(frame_mm, (LOW_FRAME_MM, FRAME_MM[1])) if frame_mm else 0.0,
        bed_mm=bed_mm,
        notes_mm=_within(notes_mm, NOTES_MM) if notes_mm >= NOTES_MM[0] else 0.0,
        boxed=boxed,
        log_rows=0,
    )


def _within(value_mm: float, limits_mm: tuple[float, float]) -> float:
    return math.floor(min(max(value_mm, limits_mm[0]), limits_mm[1]) * 10) / 10
