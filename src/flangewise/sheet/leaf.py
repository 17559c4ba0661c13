"""How the pages of a sheet share their height: the job and its steps in front, the record behind. Heights in mm.

One hit: all on one page. Two or three: job and order in front, the record on the back of the same leaf; what of the
steps finds no room in front begins the back. More: the order as a strip of frames in front, all steps on the back, the
record on a leaf of its own. Pictures take what the lines of text leave, so that little stays white. The heights of the
lines are those of the style sheet, their number follows from the widths of the letters.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from flangewise import drawing as draw
from flangewise.sheet.data import AnySheet, SheetData, SheetStep
from flangewise.sheet.step_words import gauged_on, heading, keyed_line, moves_before, reads, step_lines, step_signs
from flangewise.sheet.wording import Wording

WIDE_MM = 180.0
POINT_MM = 25.4 / 72
ON_FRONT = 3
"""So many steps stand in front with the job; with more they get the back of the leaf."""
SMALL_MM, SIGN_MM, STRONG_MM, READ_MM, NAME_MM = (points * POINT_MM for points in (8.0, 9.0, 10.0, 11.0, 20.0))
"""Sizes of letters."""
HEADING_MM, CELLS_MM, TITLE_MM, ZEROS_MM = 6.6, 7.6, 21.5, 13.2
FIGURES_MM, BOXES_MM, MOVE_MM, ROW_MM, TABLE_HEAD_MM, LOG_HEAD_MM, SIGNED_MM = (
    *(19.2, 11.6, 9.2, 8.4, 4.6, 4.2, 29.0),
)
LIE_MM = (8.0, 24.0)
PICTURE_MM = (26.4, 62.0)
"""Least and most height of a step's picture."""
LOW_PICTURE_MM = 20.6
"""Where words are long, rather than another page."""
PICTURES_MM = (36.0, 88.0)
"""Least and most height of the section and of the blank."""
LEAST_PICTURES_MM = 26.4
"""Where words are long, rather than another page."""
FRAME_MM = (34.0, 56.0)
FRAME_HEAD_MM = 13.6
STRIP_SPARE_MM, SINGLE_SPARE_MM, OVER_MM, BEHIND_SPARE_MM = 2.0, -1.5, 2.0, 1.5
FRONT_SPARE_MM = -2.5
"""What is kept free at the foot of a page of its kind, the estimates being a little high."""
BED_MM = 27.0
KEPT_MM = (5.6, 13.0)
"""Height of the boxes for photo and packing on a sheet of one page, where words are long and else."""
OVER_KEPT_MM = 20.6
"""What stands over these boxes: signatures and their labels."""
SPARE_MM = 1.5
"""Kept free at the foot of a page, for what the estimate of lines may miss."""
NOTES_MM = (9.0, 95.0)
FEW_ROWS = 2
SECTION_MM = (88.0, 106.0)
"""Width of the section's picture, and where it has many legs; that of the blank has the rest."""
FRAME_WIDE_MM = (57.0, 87.0)
"""Width of a frame of the strip, and of one of four."""
MANY_BENDS = 4
TITLE_WIDE_MM = 119.0
"""Width of the name and the cells below it, beside the part in space and the code."""
BESIDE_MM = 94.6
"""Width beside the figures of a step without a picture."""
MANY_MEASURES = 9
"""A longer record has lower rows, as one on the job's own page."""
LOW_MM = 1.0
"""How much lower."""


@dataclass(frozen=True)
class Leaf:
    """The heights of what can grow: the job's two pictures, a step's picture and how the part then lies, a frame of
    the strip, the picture of the bed, the boxes to write in; 0 for what is left out. `boxed`: boxes at every step;
    `log_rows`: rows of the run's log; `all_told`: whether loads that do not govern, and notes, are told. `tight`: steps
    go without pictures of their own, for the strip shows them; `apart`: the record begins a page; `section_mm`: the
    width of the section's picture; `kept_mm`: the boxes beside the log; `frame_wide_mm`: the width of a frame; `beside`: so
    many of the facts stand in the title."""

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
    """How many pages a sheet has: one hit stands on one, two or three on a leaf of two, more on three; one more of a run."""
    leaf = min(len(sheet.steps), 2 if len(sheet.steps) <= ON_FRONT else 3)
    return leaf + (sheet.run is not None)


def frames_a_row(count: int) -> int:
    """How many frames of a strip stand side by side: three, but four stand two by two."""
    return 2 if count == 4 else 3


def lines_of(words: str, size_mm: float, *, wide_mm: float = WIDE_MM, bold: bool = False) -> int:
    """How many lines a sentence takes, broken between words; none for no words."""
    lines, at_mm = int(bool(words)), 0.0
    for word in words.split():
        word_mm = draw.text_width_mm(word, size_mm, bold=bold)
        if at_mm + word_mm > wide_mm and at_mm > 0:
            lines, at_mm = lines + 1, 0.0
        at_mm += word_mm + draw.text_width_mm(" ", size_mm, bold=bold)
    return lines


def height_of(lines: Iterable[str], size_mm: float, *, wide_mm: float = WIDE_MM, bold: bool = False) -> float:
    """The height of sentences one under the other."""
    count = sum(lines_of(line, size_mm, wide_mm=wide_mm, bold=bold) for line in lines)
    return count * size_mm * 1.2


def cells_height(cells: Sequence[tuple[str, str]], *, wide_mm: float, apart_mm: float = 3.2) -> float:
    """The height of labelled values side by side, (label, value), begun anew where a row is full."""
    rows, at_mm = int(bool(cells)), 0.0
    for label, value in cells:
        label_mm = draw.text_width_mm(label, SMALL_MM)
        cell_mm = max(label_mm, draw.text_width_mm(value, READ_MM, bold=True)) + apart_mm
        if at_mm + cell_mm > wide_mm and at_mm > 0:
            rows, at_mm = rows + 1, 0.0
        at_mm += cell_mm
    return rows * CELLS_MM


def leaf_of(sheet: SheetData, page: Mapping[str, Any], wording: Wording, *, high_mm: float) -> Leaf:
    """The heights for a sheet whose words are known, on pages so high between their margins."""
    return replace(_heights(sheet, page, wording, high_mm=high_mm), beside=facts_beside(sheet, page, wording))


def facts_beside(sheet: AnySheet, page: Mapping[str, Any], wording: Wording) -> int:
    """How many of the facts stand in the title, behind what stands there: so many that both together are lowest."""
    counts = range(len(page["facts"]) + 1)
    return min(counts, key=lambda count: (round(_title_height(sheet, page, wording, count), 1), -count))


def _title_height(sheet: AnySheet, page: Mapping[str, Any], wording: Wording, beside: int) -> float:
    """The title with so many of the facts in it, and the others below."""
    # A long name breaks behind its hyphens.
    name = f"{sheet.part.name} · {wording.word('revision', revision=sheet.part.revision)}".replace("-", "- ")
    name_mm = lines_of(name, NAME_MM, wide_mm=TITLE_WIDE_MM, bold=True) * NAME_MM * 1.1 + 0.3
    cells_mm = cells_height([*page["head"], *page["facts"][:beside]], wide_mm=TITLE_WIDE_MM)
    return max(TITLE_MM, name_mm + cells_mm) + cells_height(page["facts"][beside:], wide_mm=WIDE_MM)


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
    front = next((few for few in (count, count - 1) if _with(bare[:few], job_mm) <= room_mm), count - 1)
    boxed = _with(bare[:front], job_mm) + front * BOXES_MM + 4.0 <= room_mm
    steps_mm = [each + BOXES_MM * boxed for each in bare]
    left_mm = room_mm - _with(steps_mm[:front], job_mm)
    several = len({id(station) for station in sheet.setup.stations}) > 1
    bed_mm = BED_MM if several and left_mm > BED_MM else 0.0
    grown_mm = min(max(left_mm - bed_mm, 0.0) * 0.4 / front, PICTURE_MM[1] - PICTURE_MM[0] - BOXES_MM)
    pictures_mm = PICTURES_MM[0] + left_mm - bed_mm - grown_mm * front
    behind_mm = behind_room_mm - BEHIND_SPARE_MM - record_mm - sum(steps_mm[front:]) - grown_mm * (count - front)
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
    pictures_mm = PICTURES_MM[0] + max(0.0, left_mm) * share
    frame_mm = FRAME_MM[0] + max(0.0, left_mm) * (1 - share) / rows
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


def frame_heads(sheet: AnySheet, side_by_side: int, wording: Wording) -> float:
    """What stands over the frames of the strip: of each row the longest words for the moves, two lines at least."""
    wide_mm = WIDE_MM / side_by_side - 3.0
    ways = [
        " ".join(words for _, words in moves_before(step, wording, first=step is sheet.steps[0]))
        for step in sheet.steps
    ]
    lines = [max(2, lines_of(way, SIGN_MM, wide_mm=wide_mm, bold=True)) for way in ways]
    rows = [max(lines[start : start + side_by_side]) for start in range(0, len(lines), side_by_side)]
    return sum(FRAME_HEAD_MM + (count - 2) * SIGN_MM * 1.1 for count in rows)


def _leaf(
    pictures_mm: float, grown_mm: float, frame_mm: float, bed_mm: float, behind_mm: float, *, boxed: bool
) -> Leaf:
    """The heights within their limits, to whole tenths."""
    notes_mm = behind_mm - 4.0
    return Leaf(
        pictures_mm=_within(pictures_mm, (LEAST_PICTURES_MM, PICTURES_MM[1])),
        picture_mm=_within(PICTURE_MM[0] + grown_mm + BOXES_MM * boxed, PICTURE_MM),
        lie_mm=_within(LIE_MM[0] + 2.0 + grown_mm * 0.9, LIE_MM),
        frame_mm=_within(frame_mm, FRAME_MM) if frame_mm else 0.0,
        bed_mm=bed_mm,
        notes_mm=_within(notes_mm, NOTES_MM) if notes_mm >= NOTES_MM[0] else 0.0,
        boxed=boxed,
        log_rows=0,
    )


def _within(value_mm: float, limits_mm: tuple[float, float]) -> float:
    return math.floor(min(max(value_mm, limits_mm[0]), limits_mm[1]) * 10) / 10


def job_height(sheet: AnySheet, page: Mapping[str, Any], wording: Wording) -> float:
    """All of the job's page but its two pictures and the steps."""
    title_mm = _title_height(sheet, page, wording, facts_beside(sheet, page, wording))
    cautions_mm = cautions_height([*page["cautions"], *page["every_step"]])
    texts_mm = height_of(sheet.part.notes, STRONG_MM, bold=True) + cautions_mm
    small = [page["holes"], page["seen"], page["misload"], page["checked"]]
    tools_mm = 0.0
    for place in range(len(sheet.mountings)):
        wide_mm = 87.0 if len(sheet.mountings) == 1 else 84.0
        columns = (cells_height(cells, wide_mm=wide_mm, apart_mm=2.6) for cells in page["tools"][place])
        stands = page["stands"][place]
        tools_mm += max(columns) + height_of(stands, READ_MM, bold=True) + 0.8
    return (
        title_mm + texts_mm + 1.0 + height_of(small, SMALL_MM)
        + height_of(page["seats"], READ_MM)
        + HEADING_MM + tools_mm + max(ZEROS_MM, _zeros(page, wording)) + 1.0
    )  # fmt: skip


def _zeros(page: Mapping[str, Any], wording: Wording) -> float:
    # The heading stands in the first line.
    told = f"{wording.word('section.steps')}    {wording.word('zeros')}"
    common_mm = height_of([page["common_line"]], READ_MM, wide_mm=138.0)
    return height_of([told], SMALL_MM, wide_mm=138.0) + common_mm + 1.0


def cautions_height(lines: Sequence[str]) -> float:
    """The height of cautions one under the other."""
    return height_of(lines, SIGN_MM, wide_mm=WIDE_MM - 3.0, bold=True) + 0.4 * len(lines)


def step_height(
    sheet: SheetData, step: SheetStep, wording: Wording, *, tight: bool = False, lowest_mm: float = PICTURE_MM[0]
) -> float:
    """A step without boxes, its picture as low as may be; `tight`: without one, its words beside the figures."""
    first = step is sheet.steps[0]
    moves = [] if first else [told for _, told in moves_before(step, wording, first=first)]
    head_mm = head_height(moves, heading(step, wording), keyed_line(sheet, step, wording), first=first)
    lies = (wording.word(f"face-{step.keyed.marked_face}"), gauged_on(step.keyed, wording))
    told = reads(sheet, step, wording)
    if tight:
        lies_mm = height_of(["  ".join(lies)], SIGN_MM, bold=True)
        body_mm = max(FIGURES_MM, height_of(told, READ_MM, wide_mm=BESIDE_MM - 1.0, bold=True)) + lies_mm
    else:
        lies_mm = height_of(lies, SIGN_MM, wide_mm=38.5, bold=True) + (
            LIE_MM[0] + 2.0 if step.new_load and not first else 0.0
        )
        texts_mm = height_of(told, READ_MM, wide_mm=123.0, bold=True)
        body_mm = max(lowest_mm, max(FIGURES_MM, lies_mm) + texts_mm)
    below_mm = cautions_height(step_signs(sheet, step, wording, alone=False)) + height_of(
        [" ".join(step_lines(sheet, step, wording))], SMALL_MM
    )
    return head_mm + body_mm + below_mm + 1.9


def head_height(moves: Sequence[str], title: str, keyed: str, *, first: bool) -> float:
    """What stands over a step: its moves beside its heading, and what is keyed in there."""
    lines = (lines_of(told, READ_MM, wide_mm=61.0, bold=True) for told in moves)
    # At the first step it stands behind the heading and its two marks, at others below.
    beside = f"{title} {keyed}" if first else ""
    over = lines_of(beside, READ_MM, wide_mm=150.0, bold=True) - 1 if first else lines_of(keyed, READ_MM, wide_mm=97.0)
    task_mm = 7.4 + over * READ_MM * 1.2
    return max(task_mm, sum(max(MOVE_MM, count * READ_MM * 1.05 + 0.4) for count in lines))


def is_low(sheet: AnySheet) -> bool:
    """Whether the boxes of the record to write in are 7 mm high, not 8."""
    return len(sheet.steps) == 1 or len(sheet.measures) > MANY_MEASURES


def record_height(sheet: AnySheet, page: Mapping[str, Any], wording: Wording) -> float:
    """The record without its boxes for photo, packing and notes."""
    expected, *others = page["first_piece"] or [""]
    words_mm = height_of([f"{wording.word('section.first-piece')}  {expected}"], READ_MM, bold=True) + height_of(
        [*others, page["advised"]], SMALL_MM
    )
    lower_mm = LOW_MM if is_low(sheet) else 0.0
    table_mm = TABLE_HEAD_MM + (ROW_MM - lower_mm) * len(sheet.measures)
    wide_mm = 115.0 if len(sheet.steps) == 1 else 127.0
    read_mm = height_of([f"{wording.word('section.run')}  {page['run']}"], READ_MM, wide_mm=wide_mm, bold=True)
    log_mm = read_mm + LOG_HEAD_MM + (ROW_MM - lower_mm) * len(page["pieces"]) + BOXES_MM - lower_mm
    signed_mm = OVER_KEPT_MM + KEPT_MM[1] if len(sheet.steps) == 1 else SIGNED_MM - 3 * lower_mm
    small_mm = height_of([page["tolerances"], page["told_last"]], SMALL_MM)
    return 3.0 + words_mm + BOXES_MM - lower_mm + table_mm + max(log_mm, signed_mm) + small_mm
