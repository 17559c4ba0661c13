"""How high what is printed stands: texts that wrap, cells, the job, a step and the record of a sheet.

Reckoned before anything is laid out, from the widths of letters. Lengths in mm on paper.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from flangewise import drawing as draw
from flangewise.sheet.data import AnySheet, AnyStep, SheetData, SheetStep
from flangewise.sheet.step_findings import step_signs
from flangewise.sheet.step_words import (
    BETWEEN,
    gauged_on,
    heading,
    keyed_line,
    moves_before,
    reads,
    step_lines,
)
from flangewise.sheet.wording import Wording

WIDE_MM = 180.0
POINT_MM = 25.4 / 72
SMALL_MM, SIGN_MM, STRONG_MM, READ_MM, NAME_MM = (points * POINT_MM for points in (8.0, 9.0, 10.0, 11.0, 20.0))
"""Sizes of letters."""
HEADING_MM, CELLS_MM, TITLE_MM, ZEROS_MM = 6.6, 7.6, 21.5, 13.2
FIGURES_MM, BOXES_MM, MOVE_MM, ROW_MM, TABLE_HEAD_MM, LOG_HEAD_MM, SIGNED_MM = (
    *(19.2, 11.6, 9.2, 8.4, 4.6, 4.2, 29.0),
)
LIE_MM = (8.0, 24.0)
PICTURE_MM = (26.4, 62.0)
"""Least and most height of a step's picture."""
FRAME_HEAD_MM = 13.6
KEPT_MM = (5.6, 13.0)
"""Height of the boxes for photo and packing on a sheet of one page, where words are long and else."""
OVER_KEPT_MM = 20.6
"""What stands over these boxes: signatures and their labels."""
TITLE_WIDE_MM = 119.0
"""Width of the name and the cells below it, beside the part in space and the code."""
NUMBERS_MM, BESIDE_MM = 85.4, 94.6
"""Width of the figures of a step, and beside the figures of a step without a picture."""
MANY_MEASURES = 9
"""A longer record has lower rows, as one on the job's own page."""
LOW_MM = 1.0
"""How much lower."""
TITLE_MM_BESIDE = (77.0, 150.0)
"""Width of the heading of a step behind its marks, and of the first one's."""


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


def frame_heads(sheet: AnySheet, side_by_side: int, wording: Wording) -> float:
    """What stands over the frames of the strip: of each row the longest words for the moves, two lines at least."""
    wide_mm = WIDE_MM / side_by_side - 3.0
    ways = [
        " · ".join(words for _, words in moves_before(step, wording, first=step is sheet.steps[0]))
        for step in sheet.steps
    ]
    lines = [max(2, lines_of(way, SIGN_MM, wide_mm=wide_mm, bold=True)) for way in ways]
    rows = [max(lines[start : start + side_by_side]) for start in range(0, len(lines), side_by_side)]
    return sum(FRAME_HEAD_MM + (count - 2) * SIGN_MM * 1.1 for count in rows)


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
        + _seats_height(page)
        + HEADING_MM + tools_mm + max(ZEROS_MM, _zeros(page, wording)) + 1.0
    )  # fmt: skip


def _seats_height(page: Mapping[str, Any]) -> float:
    """The heights at touch-off, and behind the last of them, in the same line if it can be, what openings keep."""
    lines = list(page["seats"])
    openings_mm = draw.text_width_mm(f"  {page['openings']}", SMALL_MM)
    beside = bool(lines) and draw.text_width_mm(lines[-1], READ_MM) + openings_mm < WIDE_MM
    return height_of(lines, READ_MM) + height_of([page["openings"]] if not beside else [], SMALL_MM)


def _zeros(page: Mapping[str, Any], wording: Wording) -> float:
    # The heading stands in the first line.
    told = f"{wording.word('section.steps')}    {wording.word('zeros')}"
    common_mm = height_of([firm(page["common_line"])], READ_MM, wide_mm=138.0)
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
    head_mm = head_height(moves, heading(step, wording), first=first)
    lies = (wording.word(f"face-{step.keyed.marked_face}"), gauged_on(step.keyed, wording))
    if tight:
        lies_mm = height_of(["  ".join(lies)], SIGN_MM, bold=True)
        told_mm = keyed_height(sheet, step, wording, wide_mm=BESIDE_MM - 1.0)
        told_mm += height_of(reads(sheet, step, wording), READ_MM, wide_mm=BESIDE_MM - 1.0, bold=True)
        body_mm = max(FIGURES_MM, told_mm) + lies_mm
    else:
        lies_mm = height_of(lies, SIGN_MM, wide_mm=38.5, bold=True) + (
            LIE_MM[0] + 2.0 if step.new_load and not first else 0.0
        )
        numbers_mm = FIGURES_MM + keyed_height(sheet, step, wording, wide_mm=NUMBERS_MM)
        told_mm = height_of(reads(sheet, step, wording), READ_MM, wide_mm=123.0, bold=True)
        body_mm = max(lowest_mm, max(numbers_mm, lies_mm) + told_mm)
    below_mm = cautions_height(step_signs(sheet, step, wording, alone=False)) + height_of(
        [" ".join(step_lines(sheet, step, wording))], SMALL_MM
    )
    return head_mm + body_mm + below_mm + 1.9


def keyed_height(sheet: AnySheet, step: AnyStep, wording: Wording, *, wide_mm: float) -> float:
    """What else is keyed in at a step, each figure in one line with its label."""
    return height_of([firm(keyed_line(sheet, step, wording))], READ_MM, wide_mm=wide_mm)


def firm(line: str) -> str:
    """A line of figures that breaks only between these: a point is as wide as a blank, and breaks no line."""
    return BETWEEN.join(each.replace(" ", ".") for each in line.split(BETWEEN))


def head_height(moves: Sequence[str], title: str, *, first: bool) -> float:
    """What stands over a step: its moves beside its heading."""
    lines = (lines_of(told, READ_MM, wide_mm=61.0, bold=True) for told in moves)
    size_mm = SIGN_MM if is_long(title, first=first) else READ_MM
    over = lines_of(title, size_mm, wide_mm=TITLE_MM_BESIDE[first], bold=True) - 1
    task_mm = 7.4 + over * READ_MM * 1.1
    return max(task_mm, sum(max(MOVE_MM, count * READ_MM * 1.05 + 0.4) for count in lines))


def is_long(title: str, *, first: bool) -> bool:
    """Whether the heading of a step is written smaller, rather than in two lines."""
    return draw.text_width_mm(title, READ_MM, bold=True) > TITLE_MM_BESIDE[first]


def is_low(sheet: AnySheet) -> bool:
    """Whether the boxes of the record to write in are 7 mm high, not 8."""
    return len(sheet.steps) == 1 or len(sheet.measures) > MANY_MEASURES


def record_height(sheet: AnySheet, page: Mapping[str, Any], wording: Wording) -> float:
    """The record without its boxes for photo, packing and notes."""
    expected, *others = page["first_piece"] or [""]
    words_mm = height_of([f"{wording.word('section.first-piece')}  {expected}"], READ_MM, bold=True) + height_of(
        [" ".join([*others, page["advised"]]).strip()], SMALL_MM
    )
    lower_mm = LOW_MM if is_low(sheet) else 0.0
    table_mm = TABLE_HEAD_MM + (ROW_MM - lower_mm) * len(sheet.measures)
    wide_mm = 115.0 if len(sheet.steps) == 1 else 127.0
    read_mm = height_of([f"{wording.word('section.run')}   {page['run']}"], STRONG_MM, wide_mm=wide_mm, bold=True)
    log_mm = read_mm + LOG_HEAD_MM + (ROW_MM - lower_mm) * len(page["pieces"]) + BOXES_MM - lower_mm
    signed_mm = OVER_KEPT_MM + KEPT_MM[1] if len(sheet.steps) == 1 else SIGNED_MM - 3 * lower_mm
    small_mm = height_of([page["tolerances"], page["told_last"]], SMALL_MM)
    return 3.0 + words_mm + BOXES_MM - lower_mm + table_mm + max(log_mm, signed_mm) + small_mm
