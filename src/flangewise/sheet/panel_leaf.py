"""The sheet of a panel to bytes: its own template, filled in, on the papers and with the record of every sheet."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache, partial
from typing import Any, Literal

from flangewise import drawing as draw
from flangewise.sheet.code import identity_text
from flangewise.sheet.data import Identity
from flangewise.sheet.hit_view import hit_picture, stand_of
from flangewise.sheet.marks import bend_mark
from flangewise.sheet.panel_data import PanelHit, PanelSheet
from flangewise.sheet.panel_loading import operator_picture
from flangewise.sheet.panel_pages import LOW_PICTURES_MM, most_pages, panel_pages
from flangewise.sheet.panel_words import (
    panel_gauged,
    panel_heading,
    panel_measured,
    panel_moves,
    panel_place,
    panel_side,
    panel_words,
)
from flangewise.sheet.plan_view import blank_plan
from flangewise.sheet.record import RECORD_NAME, Record, encoded
from flangewise.sheet.render import PAPERS, SHORT_MM, TABLET, Printing, count_words, pdf_of, template
from flangewise.sheet.signs import HEIGHT_MM, WIDTH_MM, move_sign
from flangewise.sheet.space_picture import finished_picture
from flangewise.sheet.wording import Wording

LEAF = "panel.html"
FINISHED_MM, PLAN_MM = 66.0, 114.0
"""How broad the finished part and the blank in plan are drawn."""
SIGN_SHARE = 0.8
LESS_MM, SAME_MM = 4.0, 0.1
Kind = Literal["above", "lying", "bent"]
"""What a picture of a hit shows: the part as the operator sees it, in space at the stops, and in space bent."""


Hits = Callable[[Kind, PanelHit, float, float], draw.Drawing]


def panel_sheet_bytes(
    sheet: PanelSheet, identity: Identity, settings: Printing, *, record: Record | None = None
) -> bytes:
    """The sheet of a panel: the same bytes for the same data, identity and settings.

    Raises MissingPangoError for a PDF where the system lacks the text library; HTML needs none.
    """
    told = record or Record(identity.plan_hash, identity.replaces)
    wording = Wording(sheet.machine, settings.lang, settings.units or sheet.part.units)
    if settings.html:
        return panel_html(sheet, identity, settings, wording, record=told, name=TABLET).encode()
    return panel_pdf(sheet, identity, settings, wording, record=told)


def panel_pdf(sheet: PanelSheet, identity: Identity, settings: Printing, wording: Wording, *, record: Record) -> bytes:
    """The sheet as a PDF, laid out tighter where it takes a page more than meant."""
    html, *tighter = (
        partial(panel_html, sheet, identity, settings, wording, record=None, short_mm=mm) for mm in SHORT_MM
    )
    most = most_pages(len(sheet.steps)) + (sheet.run is not None)
    return pdf_of(
        html(), attachments=sheet.attachments, record=record, wording=wording, tighter=tighter, most_pages=most
    )


def panel_html(
    sheet: PanelSheet,
    identity: Identity,
    settings: Printing,
    wording: Wording,
    *,
    record: Record | None,
    name: str = LEAF,
    short_mm: float = 0.0,
) -> str:
    """The sheet as one HTML text, pictures and style inside; by the template for a tablet with a page for it before."""
    page, paper = panel_words(sheet, identity, wording), PAPERS[settings.paper]

    def plan_high(height_mm: float) -> float:
        return _plan(sheet, wording, height_mm).height_mm

    pages = panel_pages(sheet, page, wording, high_mm=paper.printed_mm - short_mm, plan_high=plan_high)
    hits, run = _hits(sheet, wording), None
    if sheet.run is not None:
        from flangewise.sheet import run_page

        run = run_page.run_page(sheet, wording), run_page.stack_picture(sheet, wording)
    rendered: str = template(name).render(
        sheet=sheet,
        run=run,
        own=LEAF,
        leaf=pages.leaf,
        looks=pages.steps,
        identity=identity,
        identity_words=identity_text(sheet.part.name, sheet.part.revision, identity.plan_hash),
        page=page,
        plan=_fitted(sheet, wording, pages.leaf.pictures_mm),
        finished=_finished(sheet, wording),
        hit_picture=hits,
        blank_picture=_laid(sheet, wording, hits),
        section_picture=lambda *_, width_mm, height_mm: _finished(sheet, wording)(height_mm),
        stroke_pictures=lambda *_: {},
        heading=lambda step, said: panel_heading(sheet, step, said),
        side=panel_side,
        gauged_on=panel_gauged,
        place=panel_place,
        measured=panel_measured,
        moves_before=panel_moves,
        move_sign=_sign,
        lang=settings.lang,
        say=wording,
        w=wording.word,
        paper=paper,
        count_words=count_words(wording),
        record_name=RECORD_NAME,
        record=encoded(record) if record else "",
    )
    return rendered


def _finished(sheet: PanelSheet, wording: Wording) -> Callable[[float], draw.Drawing]:
    def finished(height_mm: float) -> draw.Drawing:
        described = wording.word("plan.finished", part=sheet.part.name)
        return finished_picture(sheet.blank, width_mm=FINISHED_MM, height_mm=height_mm, described=described)

    return finished


def _plan(sheet: PanelSheet, wording: Wording, height_mm: float) -> draw.Drawing:
    """The blank in plan as it is laid for the first hit."""
    first = sheet.steps[0]
    right, back, _ = stand_of(first.ordered, sheet.blank.thickness_mm).rotation
    return blank_plan(
        sheet.blank,
        wording,
        width_mm=PLAN_MM,
        height_mm=height_mm,
        mark=bend_mark,
        described=wording.word("plan.loaded", part=sheet.part.name),
        ways=(right[:2], back[:2]),
        foot=wording.word(f"face-{first.keyed.marked_face}"),
        offsets_mm={bend.number: bend.offset_mm for bend in sheet.part.panel.bends if bend.offset_mm is not None},
    )


def _laid(sheet: PanelSheet, wording: Wording, hits: Hits) -> Callable[..., draw.Drawing]:
    """How the part is laid: as the blank in plan with its sizes, or as the operator sees it before a hit."""

    def laid(
        _: PanelSheet, step: PanelHit, __: Wording, *, width_mm: float, height_mm: float, sized: bool = True
    ) -> Any:
        return _plan(sheet, wording, height_mm) if sized else hits("above", step, width_mm, height_mm)

    return laid


def _fitted(sheet: PanelSheet, wording: Wording, most_mm: float) -> draw.Drawing:
    """The blank in plan, its labels that need more room included, no higher than that if it can be."""
    asked = [most_mm - LESS_MM * step for step in range(int((most_mm - LOW_PICTURES_MM) / LESS_MM) + 1)]
    found = [_plan(sheet, wording, each) for each in asked[:1] or [most_mm]]
    for height_mm in asked[1:]:
        if found[-1].height_mm <= most_mm + SAME_MM:
            break
        found.append(_plan(sheet, wording, height_mm))
    return found[-1]


def _hits(sheet: PanelSheet, wording: Wording) -> Hits:
    """The pictures of a hit by what they show."""

    @cache
    def pictured(kind: Kind, number: int, width_mm: float, height_mm: float) -> draw.Drawing:
        step = sheet.steps[number - 1]
        size: dict[str, Any] = {"width_mm": width_mm, "height_mm": height_mm}
        if kind == "above":
            return operator_picture(sheet.blank, step, sheet.machine, wording, **size)
        bent = kind == "bent"
        own = {"held": step.held, "bent": bent, **size}
        return hit_picture(sheet.blank, step.keyed, step.ordered, sheet.machine, wording, **own)

    return lambda kind, step, width_mm, height_mm: pictured(kind, step.keyed.step, width_mm, height_mm)


def _sign(sign: tuple[str, float | None], wording: Wording) -> draw.Drawing:
    """The sign of a move; of a turn in the plane the arc it goes through, with its angle."""
    code, turn_deg = sign
    if turn_deg is None:
        return move_sign(code, wording)
    wide, high = WIDTH_MM * SIGN_SHARE, HEIGHT_MM * SIGN_SHARE
    centre, radius = (high * 0.55, high / 2), high * 0.38
    angles = [math.radians(90.0 + turn_deg * share / 24) for share in range(25)]
    spots = tuple((centre[0] + radius * math.cos(each), centre[1] - radius * math.sin(each)) for each in angles)
    words = wording.number(f"{abs(turn_deg):.0f}°")
    return draw.Drawing(
        wide,
        high,
        (
            draw.Line((centre, spots[0]), draw.THIN),
            draw.Line((centre, spots[-1]), draw.THIN),
            draw.Line(spots[:-1], draw.MEDIUM),
            draw.head(spots[-1], spots[-4]),
            draw.Text((wide - 0.3, high / 2 + 1.1), words, 2.9, True, "end"),
        ),
        wording.word("alt.move"),
    )
