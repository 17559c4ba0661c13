"""How the pages of a panel's sheet share their height. Heights in mm.

Two or three hits: job and steps in front, the record behind, each step with its three pictures. More: the order as a
strip of frames in space in front, the steps behind it with two pictures each, the record after them. There are as few
pages as steps without pictures would take; on each of them its steps get the best that all of them find room for, and
what then stays white goes to their pictures.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from flangewise import drawing as draw
from flangewise.records import dataclass, replace
from flangewise.sheet.heights import (
    KEPT_MM,
    READ_MM,
    SIGN_MM,
    SMALL_MM,
    WIDE_MM,
    cautions_height,
    facts_beside,
    firm,
    frame_heads,
    head_height,
    height_of,
    job_height,
    lines_of,
    record_height,
)
from flangewise.sheet.leaf import NOTES_MM, ON_FRONT, SPARE_MM, Leaf
from flangewise.sheet.panel_data import PanelHit, PanelSheet
from flangewise.sheet.panel_words import panel_gauged, panel_heading, panel_moves, panel_place, panel_side
from flangewise.sheet.step_findings import step_signs
from flangewise.sheet.step_words import keyed_line, reads, step_lines
from flangewise.sheet.wording import Wording

PICTURE_MM = (30.0, 66.0)
"""Least and most height of the pictures of a step; LOW_MM where words are long, rather than another page."""
LOW_MM = 24.0
PICTURES_MM = (56.0, 100.0)
"""Least and most height of the finished part and of the blank in plan; LOW_PICTURES_MM rather than another page."""
LOW_PICTURES_MM = 40.0
ASKED_MM = (PICTURES_MM[0], 48.0, LOW_PICTURES_MM)
FRAME_MM = (26.0, 60.0)
FRAME_HEAD_MM, APART_MM, STRIP_SPARE_MM = 13.6, 3.0, 2.0
FIGURES_MM, FIGURES_MM_IN_ONE_ROW = 18.0, 10.4
BOXED_MM, HALF_MM, BESIDE_KEYED_MM = 11.6, 90.0, 3.5
"""The boxes of a step to write in, and the width of the words beside them where they stand over the page's width."""
FRAMES_A_ROW = {4: (2, 4), 5: (3,), 6: (3,)}
"""The first of them that find room; else four, and of more than eight hits five."""
STEP_SPARE_MM = 1.8
FIGURES_WIDE_MM, NOTES_HEAD_MM, MARKS_MM, RECORD_SPARE_MM = 88.0, 4.0, 13.0, 4.0


PlanHigh = Callable[[float], float]


@dataclass(frozen=True)
class Look:
    """How a step is set: how high its pictures are (0: none), over its figures and the page `wide` or beside them, and
    whether it has boxes to write in."""

    high_mm: float
    wide: bool
    boxed: bool


@dataclass(frozen=True)
class PanelPages:
    """The heights of a panel's sheet: those that all sheets have, and how each step is set."""

    leaf: Leaf
    steps: tuple[Look, ...]


def most_pages(hits: int) -> int:
    """How many pages a sheet is meant to have: three for up to six hits, one more for every four."""
    if hits <= ON_FRONT:
        return min(hits, 2)
    return 3 + max(0, math.ceil((hits - 6) / 4))


@dataclass(frozen=True)
class StepRoom:
    """What a step takes over and under its pictures, and what stands beside them."""

    over_mm: float
    beside_mm: float

    def at(self, high_mm: float) -> float:
        """The height of the step with pictures so high."""
        return self.over_mm + max(high_mm, self.beside_mm)


@dataclass(frozen=True)
class Front:
    """The page in front: what stands on it in all, the least height of its two pictures, its frames and how many of
    them stand side by side."""

    used_mm: float
    pictures_mm: float
    frame_mm: float
    side: int


def _front(sheet: PanelSheet, wording: Wording, job_mm: float, room_mm: float, plan_high: PlanHigh) -> Front:
    """The first way in which job and strip find room on one page: larger frames, then lower pictures."""
    # A plan asked for lower can become higher: its labels then need more room around it.
    count, highs = len(sheet.steps), [plan_high(high_mm) for high_mm in ASKED_MM]
    least = [highs[0], min(highs)]
    if count <= ON_FRONT:
        return Front(job_mm + least[1], least[1], 0.0, 1)
    for pictures_mm in least:
        for side in FRAMES_A_ROW.get(count, (4 if count <= 8 else 5,)):
            rows, wide_mm = math.ceil(count / side), WIDE_MM / side - APART_MM
            used_mm = job_mm + pictures_mm + frame_heads(sheet, side, wording) + STRIP_SPARE_MM
            # Where a frame is narrow the words for the face stand below the two marks.
            faces = (draw.text_width_mm(wording.word(f"face-{way}"), SMALL_MM, bold=True) for way in ("up", "down"))
            used_mm += rows * SMALL_MM * 1.4 * (max(faces) + MARKS_MM > wide_mm)
            spare_mm = room_mm - used_mm - rows * FRAME_MM[0]
            frame_mm = min(FRAME_MM[0] + max(spare_mm, 0.0) * 0.6 / rows, FRAME_MM[1])
            if spare_mm >= 0.0:
                return Front(used_mm + rows * frame_mm, pictures_mm, frame_mm, side)
    return Front(used_mm + rows * frame_mm, pictures_mm, frame_mm, side)


def panel_pages(
    sheet: PanelSheet, page: Mapping[str, Any], wording: Wording, *, high_mm: float, plan_high: PlanHigh
) -> PanelPages:
    """The heights for a sheet whose words are known, on pages so high; `plan_high`: how high the blank's plan becomes
    where so much is asked for."""
    count, room_mm = len(sheet.steps), high_mm - SPARE_MM
    job_mm = job_height(sheet, page, wording)
    record_mm = record_height(sheet, page, wording) + RECORD_SPARE_MM
    full = count <= ON_FRONT
    front = _front(sheet, wording, job_mm, room_mm, plan_high)
    begun_mm = front.used_mm if full else room_mm
    ways = [
        StepsLayout(look, tuple(_room_of(sheet, step, wording, look) for step in sheet.steps)) for look in _looks(full)
    ]
    pages = min((_laid(way, begun_mm, record_mm, room_mm) for way in ways), key=len)
    rooms_mm = [
        room_mm - begun_mm * (number == 0) - record_mm * (number == len(pages) - 1) for number in range(len(pages))
    ]
    pages = _evened(pages, ways[-1], rooms_mm)
    chosen = [_best(places, ways, free_mm) for places, free_mm in zip(pages, rooms_mm, strict=True)]
    if full:
        # Few steps are set alike.
        chosen = [max(chosen, key=ways.index)] * len(pages)
    # The pictures of the job come first, up to what they should have at least.
    spare_mm = rooms_mm[0] - chosen[0].taken_mm(pages[0]) if full else 0.0
    rooms_mm[0] -= min(max(spare_mm, 0.0), max(0.0, plan_high(PICTURES_MM[0]) - front.pictures_mm))
    looks: dict[int, Look] = {}
    for number, (places, way) in enumerate(zip(pages, chosen, strict=True)):
        # Beside the record pictures stay as they are.
        free_mm = rooms_mm[number] if number < len(pages) - 1 else 0.0
        looks |= _grown(places, way, free_mm)
    taken_mm = [
        sum(way.rooms[at].at(looks[at].high_mm) for at in places) for places, way in zip(pages, chosen, strict=True)
    ]
    notes_mm = rooms_mm[-1] - taken_mm[-1] - NOTES_HEAD_MM
    first_mm = room_mm - front.used_mm - (taken_mm[0] if full else 0.0)
    pictures_mm = front.pictures_mm + max(0.0, first_mm - 1.0)
    leaf = Leaf(
        pictures_mm=_tenths(min(pictures_mm, max(PICTURES_MM[1], front.pictures_mm))),
        picture_mm=max(look.high_mm for look in looks.values()),
        lie_mm=0.0,
        frame_mm=_tenths(front.frame_mm),
        bed_mm=0.0,
        notes_mm=_tenths(min(notes_mm, NOTES_MM[1])) if notes_mm >= NOTES_MM[0] else 0.0,
        boxed=False,
        log_rows=len(page["pieces"]),
        apart=not pages[-1],
        kept_mm=KEPT_MM[1],
        frame_wide_mm=_tenths(WIDE_MM / front.side - APART_MM),
        beside=facts_beside(sheet, page, wording),
    )
    return PanelPages(leaf, tuple(looks[at] for at in range(count)))


def _tenths(value_mm: float) -> float:
    return math.floor(value_mm * 10) / 10


@dataclass(frozen=True)
class StepsLayout:
    """One way to set all steps, their pictures as low as may be, and their rooms."""

    look: Look
    rooms: tuple[StepRoom, ...]

    def taken_mm(self, page: Sequence[int]) -> float:
        """The height of the steps of a page."""
        return sum(self.rooms[at].at(self.look.high_mm) for at in page)


def _looks(full: bool) -> Iterator[Look]:
    """How steps may be set, the best first: with pictures and boxes, then without the ones or the others; `full`: also
    with three pictures over the figures."""
    if full:
        yield Look(PICTURE_MM[0], wide=True, boxed=True)
    for boxed in (True, False):
        for high_mm in (PICTURE_MM[0], LOW_MM):
            yield Look(high_mm, wide=False, boxed=boxed)
    for boxed in (True, False):
        yield Look(0.0, wide=True, boxed=boxed)


def _laid(way: StepsLayout, begun_mm: float, record_mm: float, room_mm: float) -> list[list[int]]:
    """The places of the steps page by page, the record on the last; the first page is begun already."""
    pages: list[list[int]] = [[]]
    at_mm = begun_mm
    for place in range(len(way.rooms)):
        own_mm = way.taken_mm([place])
        if at_mm + own_mm > room_mm and at_mm > 0.0:
            pages.append([])
            at_mm = 0.0
        pages[-1].append(place)
        at_mm += own_mm
    return [*pages, []] if at_mm + record_mm > room_mm else pages


def _evened(pages: list[list[int]], way: StepsLayout, rooms_mm: Sequence[float]) -> list[list[int]]:
    """The steps shared out between the pages before the record's, so that none is crowded beside one half empty."""
    pages = [list(page) for page in pages]
    moved = True
    while moved:
        moved = False
        for number in range(len(pages) - 2):
            page, after = pages[number], pages[number + 1]
            longer = [page[-1], *after] if page else []
            full_mm = way.taken_mm(longer)
            if longer and full_mm <= rooms_mm[number + 1] and full_mm < way.taken_mm(page):
                pages[number], pages[number + 1], moved = page[:-1], longer, True
    return pages


def _best(page: Sequence[int], ways: Sequence[StepsLayout], free_mm: float) -> StepsLayout:
    """The first way in which the steps of a page find room on it; else the least."""
    return next((way for way in ways if way.taken_mm(page) <= free_mm), ways[-1])


def _grown(page: Sequence[int], way: StepsLayout, free_mm: float) -> dict[int, Look]:
    """How each step of a page is set, its pictures grown to what the page has."""
    spare_mm, low_mm = max(0.0, free_mm - way.taken_mm(page)) / max(1, len(page)), way.look.high_mm
    grown_mm = {at: max(low_mm, way.rooms[at].beside_mm) + spare_mm if low_mm else 0.0 for at in page}
    return {at: replace(way.look, high_mm=_tenths(min(mm, PICTURE_MM[1]))) for at, mm in grown_mm.items()}


def _told_height(keyed: str, readings: Sequence[str]) -> float:
    """What else is keyed in, which is not bold, and in one line with it, if it can be, the first reading."""
    first, *others = readings or [""]
    begun_mm = draw.text_width_mm(firm(keyed), READ_MM) + BESIDE_KEYED_MM if keyed else 0.0
    fits = begun_mm + draw.text_width_mm(first, READ_MM, bold=True) <= WIDE_MM
    over = lines_of(f"{firm(keyed)}   {first}", READ_MM, bold=True) - 1 if not fits else 0
    told = [each for each in (keyed or first, *others) if each]
    return height_of(told, READ_MM, bold=True) + max(over, 1 - fits) * READ_MM * 1.2


def _room_of(sheet: PanelSheet, step: PanelHit, wording: Wording, look: Look) -> StepRoom:
    """The room of a step that is set so."""
    full, boxed = look.wide, look.boxed
    first = step is sheet.steps[0]
    moves = [] if first else [words for _, words in panel_moves(step, wording, first=first)]
    head_mm = head_height(moves, panel_heading(sheet, step, wording), first=first)
    lies = (panel_side(sheet, step, wording), panel_gauged(step.keyed, wording))
    wide_mm = FIGURES_WIDE_MM if not full else HALF_MM if boxed else WIDE_MM
    lies_mm = height_of([" · ".join(lies)] if full and not boxed else lies, SIGN_MM, wide_mm=wide_mm, bold=True)
    lies_mm += height_of([panel_place(step, wording)], READ_MM, wide_mm=wide_mm, bold=True)
    told_mm = _told_height(keyed_line(sheet, step, wording), reads(sheet, step, wording))
    below_mm = cautions_height(step_signs(sheet, step, wording, alone=False))
    below_mm += height_of([" ".join(step_lines(sheet, step, wording))], SMALL_MM)
    over_mm = head_mm + told_mm + below_mm + STEP_SPARE_MM
    if full:
        return StepRoom(over_mm + FIGURES_MM_IN_ONE_ROW + (max(lies_mm, BOXED_MM) if boxed else lies_mm), 0.0)
    return StepRoom(over_mm, FIGURES_MM + lies_mm + BOXED_MM * boxed)
