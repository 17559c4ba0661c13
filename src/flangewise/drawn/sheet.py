"""A drawing's bytes made a blank: what is shown, the sheet, its lines and turns, its faces; all faults at once."""

from __future__ import annotations

from collections.abc import Callable

from flangewise.drawn.blank import DrawnBlank, DrawnWish, Undrawn
from flangewise.drawn.cells import faces_of
from flangewise.drawn.contours import ring_of, sheet_of
from flangewise.drawn.file import document_of, spoilt_is_unread, unit_of
from flangewise.drawn.on_sheet import LinesOnSheet, on_sheet
from flangewise.drawn.pieces import shown_by
from flangewise.drawn.strokes import strokes_of
from flangewise.drawn.told import OverTime, TimeBox, bounded
from flangewise.drawn.turns import turns_of
from flangewise.findings import Finding, refuse, refused, sorted_findings


def blank_of(raw: bytes, wish: DrawnWish, *, longest_s: float, clock: Callable[[], float]) -> DrawnBlank:
    """The blank that the bytes of a DXF show. Raises Undrawn with every fault found."""
    try:
        return _blank(raw, wish, TimeBox(clock() + longest_s, clock))
    except OverTime:
        raise Undrawn([refuse("drawn-slow", most_s=longest_s)]) from None


def _blank(raw: bytes, wish: DrawnWish, box: TimeBox) -> DrawnBlank:
    with spoilt_is_unread():
        document = document_of(raw, box)
        unit = unit_of(document, raw, wish.units)
        shown = shown_by(document, unit.mm, wish.layers, box)
    sheet = sheet_of(shown.cut, wish.layers.cut, box)
    box.look()
    strokes = strokes_of(shown.strokes)
    turns = turns_of(strokes.lines, wish, shown.texts, unit.mm)
    lines = LinesOnSheet((), ()) if sheet.polygon is None else on_sheet(strokes.lines, sheet.polygon, box)
    told: list[Finding] = [
        *unit.findings,
        *shown.findings,
        *sheet.findings,
        *strokes.findings,
        *turns.findings,
        *lines.findings,
    ]
    if refused(told):
        raise Undrawn(bounded(told))
    faces = faces_of(sheet.polygon, lines.lines, turns.by_line, wish.base_mm, box)
    if refused(faces.findings):
        raise Undrawn(bounded([*told, *faces.findings]))
    return DrawnBlank(
        outline_mm=ring_of(sheet.polygon.exterior),
        cutouts_mm=tuple(sorted(map(ring_of, sheet.polygon.interiors))),
        lines=faces.lines,
        faces=faces.faces,
        findings=sorted_findings(told),
    )
