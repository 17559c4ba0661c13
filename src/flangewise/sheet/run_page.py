"""The page of a robot's run: brake and robot in step, blanks in and parts out, distances, what docking asks for.

It follows the pages by which the machine is set up and the first piece is bent by hand.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from flangewise import drawing as draw
from flangewise.handling import (
    CellLayout,
    CellPlan,
    Distance,
    alone_line,
    box_lines,
    distance_said,
    entered,
    infeed_lines,
    label_line,
    layout_lines,
    lost_line,
    opened,
    out_lines,
    phase_cells,
    tables,
    turned,
    without_cell,
)
from flangewise.records import dataclass
from flangewise.sheet.data import Point, Printed, SheetData
from flangewise.sheet.heights import SIGN_MM, SMALL_MM, STRONG_MM, height_of, lines_of
from flangewise.sheet.marks import bend_mark
from flangewise.sheet.step_findings import sentence
from flangewise.sheet.wording import Wording
from flangewise.units import trimmed
from flangewise.words import phrase

STACK_MM = (38.0, 24.0)
"""The picture of parts that lie in each other."""
SHOWN = 3
PHASE_COLUMNS_MM, DISTANCE_COLUMNS_MM = (21.0, 34.0, 34.0, 31.0, 20.0, 20.0, 20.0), (42.0, 24.0, 114.0)
"""Widths of the columns, as the style sheet has them."""
CELL_MM, TITLE_MM, HEAD_MM, ROW_HEAD_MM, ROW_MM, DOCKING_MM = 3.0, 8.0, 6.4, 4.4, 4.9, 44.0
"""Letters of the tables, and heights: the title, a heading, the head of a table, a row of one line, and what stands at
the foot with its box."""


@dataclass(frozen=True)
class RunPage:
    """The page in words: what opens it, tables as rows of cells, lines, and the distances."""

    opening: tuple[str, ...]
    phases: tuple[tuple[str, tuple[tuple[str, ...], ...]], ...]
    after: str
    hits: tuple[tuple[str, ...], ...]
    infeed: tuple[str, ...]
    out: tuple[str, ...]
    label: str
    distances: tuple[tuple[str, str, str], ...]
    not_computed: str
    layout: tuple[str, ...]
    entered: str
    lost: str
    findings: tuple[str, ...]

    @property
    def high_mm(self) -> float:
        """About how high all of it stands on one page, the box at its foot at its least."""
        above_mm = TITLE_MM + height_of(self.findings, SIGN_MM, bold=True) + SIGN_MM * 1.2 * 2
        above_mm += height_of(self.opening, STRONG_MM, bold=True) + height_of([self.after], SMALL_MM)
        for _, rows in self.phases:
            above_mm += ROW_HEAD_MM + sum(_row_mm(row, PHASE_COLUMNS_MM) for row in rows)
        left_mm = 2 * HEAD_MM + ROW_HEAD_MM + len(self.hits) * ROW_MM + height_of(self.infeed, SIGN_MM, wide_mm=84.0)
        right_mm = HEAD_MM + max(STACK_MM[1], height_of(self.out, SIGN_MM, wide_mm=53.0))
        right_mm += height_of([self.label], STRONG_MM, wide_mm=92.0, bold=True)
        below_mm = HEAD_MM + sum(_row_mm(row, DISTANCE_COLUMNS_MM) for row in self.distances)
        below_mm += height_of([self.not_computed], SIGN_MM, bold=True)
        below_mm += height_of([self.entered, " ".join((*self.layout, self.lost))], SMALL_MM)
        return above_mm + max(left_mm, right_mm) + below_mm + DOCKING_MM


def _row_mm(cells: Sequence[str], columns_mm: Sequence[float]) -> float:
    lines = (lines_of(cell, CELL_MM, wide_mm=wide_mm - 1.6) for cell, wide_mm in zip(cells, columns_mm, strict=True))
    return max(lines) * CELL_MM * 1.15 + 1.2


def run_page(sheet: Printed, wording: Wording) -> RunPage:
    """What the run page says, in the language and units of the sheet. Raises ValueError without a run."""
    plan = sheet.run
    if plan is None or plan.layout is None:
        raise ValueError("no run by a robot")
    said = wording.said
    label, layout = label_line(plan), plan.layout
    return RunPage(
        opening=tuple(map(said, opened(plan))),
        phases=tuple(_phases(plan, wording)),
        after=wording.said(phrase("cell.after")),
        hits=tuple(_hits(plan, wording)),
        infeed=tuple(sentence(said(each)) for each in dict.fromkeys((*infeed_lines(plan.stack), alone_line(plan)))),
        out=tuple(sentence(said(each)) for each in (*out_lines(plan), *box_lines(plan))),
        label="" if label is None else said(label),
        distances=tuple(_distance(each, wording) for each in layout.distances) if layout.has_cell else (),
        not_computed="" if layout.has_cell else sentence(said(without_cell(sheet.handler.name))),
        layout=tuple(said(each) for each in layout_lines(layout, sheet.handler.name)),
        entered=wording.word("run-page.entered", inputs=entered(layout.entered)) if layout.has_cell else "",
        lost=_lost(layout, wording),
        findings=tuple(sentence(said(each.phrase)) for each in plan.findings if each.severity == "caution"),
    )


def _phases(plan: CellPlan, wording: Wording) -> Iterator[tuple[str, tuple[tuple[str, ...], ...]]]:
    for hold, steps, phases in tables(plan):
        every = len(steps) == len(plan.hits)
        head = (
            wording.word("run-page.every")
            if every
            else wording.word("run-page.steps", steps=", ".join(map(str, steps)))
        )
        yield head, tuple(tuple(map(wording.said, phase_cells(each, hold, plan.kept))) for each in phases)


def _hits(plan: CellPlan, wording: Wording) -> Iterator[tuple[str, ...]]:
    for hit in plan.hits:
        marks = " ".join(map(bend_mark, hit.bends))
        heights = (wording.opening(hit.open_height_mm), wording.retract(hit.retract_mm))
        jaw = wording.said(phrase(f"cell.hold.{hit.hold}"))
        yield (str(hit.step), marks, *heights, jaw if hit.held is None else f"{jaw}; {wording.said(hit.held)}")


def _distance(distance: Distance, wording: Wording) -> tuple[str, str, str]:
    """Name, length or that it is not computed, and from what: formula, edition, inputs."""
    name, lacks = distance_said(distance)
    if lacks is not None:
        return wording.said(name), "", sentence(wording.said(lacks))
    length = wording.written("distance_mm", abs(distance.distance_mm or 0.0))
    # The formula counts in mm.
    in_mm = f"{trimmed(abs(distance.distance_mm or 0.0), 0)} mm: " if wording.is_inch else ""
    return wording.said(name), length, f"{in_mm}{distance.formula}. {distance.source}. {distance.told_terms}"


def _lost(layout: CellLayout, wording: Wording) -> str:
    return f"{wording.word('run-page.people')} {wording.said(lost_line(layout))}." if layout.has_cell else ""


def stack_picture(sheet: Printed, wording: Wording) -> draw.Drawing:
    """A few of the finished parts as they lie in their stack, or stand in pairs, a panel as the box around it."""
    wide_mm, high_mm = STACK_MM
    drawing = draw.Drawing(wide_mm, high_mm, described=wording.word("alt.stack"))
    if sheet.run is None:
        return drawing
    outlines = list(_laid(sheet))
    left, right = min(x for each in outlines for x, _ in each), max(x for each in outlines for x, _ in each)
    low, high = min(y for each in outlines for _, y in each), max(y for each in outlines for _, y in each)
    scale = min((wide_mm - 2) / (right - left), (high_mm - 2) / (high - low))
    off_mm = (wide_mm - (right - left) * scale) / 2
    for outline in outlines:
        points = tuple((off_mm + (x - left) * scale, high_mm - 1 - (y - low) * scale) for x, y in outline)
        drawing = drawing.adding([draw.Line(points, draw.THIN, closed=True, fill="white")])
    return drawing


def _laid(sheet: Printed) -> Iterator[tuple[Point, ...]]:
    assert sheet.run is not None
    out = sheet.run.out
    if out.packed is not None and out.packed.way == "pairs" and out.paired is not None:
        pair = out.paired
        up, down = pair.places_mm
        for across, height in up:
            yield tuple((x + across, y + height) for x, y in pair.outline_mm)
        middle_x = (min(x for x, _ in pair.outline_mm) + max(x for x, _ in pair.outline_mm)) / 2
        middle_y = (min(y for _, y in pair.outline_mm) + max(y for _, y in pair.outline_mm)) / 2
        for across, height in down:
            yield tuple((2 * middle_x - x + across, 2 * middle_y - y + height) for x, y in pair.outline_mm)
        return
    if isinstance(sheet, SheetData):
        lying = turned(sheet.finished.outline_mm, out.nest.turned_deg)
    else:
        wide_mm, high_mm = out.nest.wide_mm, out.nest.high_mm
        lying = ((0.0, 0.0), (wide_mm, 0.0), (wide_mm, high_mm), (0.0, high_mm))
    for nth in range(SHOWN):
        yield tuple((x, y + nth * out.nest.pitch_mm) for x, y in lying)
