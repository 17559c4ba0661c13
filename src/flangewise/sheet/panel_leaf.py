"""The sheet of a panel to bytes: its own template, filled in, on the papers and with the record of every sheet."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from typing import Any, Literal

from flangewise import drawing as draw
from flangewise.sheet.code import identity_text
from flangewise.sheet.data import Identity
from flangewise.sheet.hit_view import hit_picture, stand_of
from flangewise.sheet.marks import bend_mark
from flangewise.sheet.panel_data import PanelHit, PanelSheet
from flangewise.sheet.panel_loading import operator_picture
from flangewise.sheet.panel_pages import PICTURES_MM, panel_pages
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
from flangewise.sheet.render import (
    PAPERS,
    RECORD_NAME,
    Printing,
    Record,
    count_words,
    encoded,
    pdf_of,
    template,
)
from flangewise.sheet.signs import HEIGHT_MM, WIDTH_MM, move_sign
from flangewise.sheet.space_picture import finished_picture
from flangewise.sheet.wording import Wording

LEAF = "panel.html"
FINISHED_MM, PLAN_MM = 66.0, 114.0
"""How broad the finished part and the blank in plan are drawn."""
SIGN_SHARE = 0.8
Kind = Literal["above", "lying", "bent"]
"""What a picture of a hit shows: the part as the operator sees it, in space at the stops, and in space bent."""


def panel_sheet_bytes(
    sheet: PanelSheet, identity: Identity, settings: Printing, *, record: Record | None = None
) -> bytes:
    """The sheet of a panel: the same bytes for the same data, identity and settings.

    Raises MissingPangoError for a PDF where the system lacks the text library; HTML needs none.
    """
    told = record or Record(identity.plan_hash, identity.replaces)
    wording = Wording(sheet.machine, settings.lang, settings.units or sheet.part.units)
    html = panel_html(sheet, identity, settings, wording, record=told if settings.html else None)
    if settings.html:
        return html.encode()
    return pdf_of(html, attachments=sheet.attachments, record=told, wording=wording)


def panel_html(
    sheet: PanelSheet, identity: Identity, settings: Printing, wording: Wording, *, record: Record | None
) -> str:
    """The sheet as one HTML text, pictures and style inside."""
    page, paper = panel_words(sheet, identity, wording), PAPERS[settings.paper]
    least_mm = _plan(sheet, wording, PICTURES_MM[0]).height_mm
    pages = panel_pages(sheet, page, wording, high_mm=paper.printed_mm, plan_mm=least_mm)
    rendered: str = template(LEAF).render(
        sheet=sheet,
        leaf=pages.leaf,
        steps_mm=pages.steps_mm,
        identity=identity,
        identity_words=identity_text(sheet.part.name, sheet.part.revision, identity.plan_hash),
        page=page,
        plan=_plan(sheet, wording, pages.leaf.pictures_mm),
        finished=_finished(sheet, wording),
        hit_picture=_hits(sheet, wording),
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
    )


def _hits(sheet: PanelSheet, wording: Wording) -> Callable[[Kind, PanelHit, float, float], draw.Drawing]:
    """The pictures of a hit by what they show."""

    @cache
    def pictured(kind: Kind, number: int, width_mm: float, height_mm: float) -> draw.Drawing:
        step = sheet.steps[number - 1]
        size: dict[str, Any] = {"width_mm": width_mm, "height_mm": height_mm}
        if kind == "above":
            return operator_picture(sheet.blank, step, sheet.machine, wording, **size)
        bent = kind == "bent"
        return hit_picture(sheet.blank, step.keyed, step.ordered, sheet.machine, wording, bent=bent, **size)

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
