"""The sheet of a panel to bytes: its own template, filled in, on the papers and with the record of every sheet."""

from __future__ import annotations

import math
from typing import Any

from flangewise import drawing as draw
from flangewise.setup import SetupStep
from flangewise.sheet.code import code_picture, identity_text
from flangewise.sheet.data import Identity
from flangewise.sheet.hit_view import hit_picture, stand_of
from flangewise.sheet.marks import bend_mark
from flangewise.sheet.panel_data import PanelSheet
from flangewise.sheet.panel_words import (
    panel_bends,
    panel_heading,
    panel_lies,
    panel_lines,
    panel_moves,
    panel_rows,
    panel_signs,
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
from flangewise.sheet.step_words import measured
from flangewise.sheet.wording import Wording

LEAF = "panel.html"
FINISHED_MM, PLAN_MM = (66.0, 84.0), (114.0, 84.0)
FRAME_MM, SMALL_FRAME_MM, HIT_MM = (57.0, 40.0), (43.0, 36.0), (88.0, 66.0)
FOUR, SIX = 4, 6
"""Four hits stand in one row of the order, more than six in rows of four, in smaller frames; else three a row."""
NOTES_MM = 16.0
SIGN_SHARE = 0.8


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
    page = panel_words(sheet, identity, wording)
    rendered: str = template(LEAF).render(
        sheet=sheet,
        leaf={"notes_mm": NOTES_MM, "kept_mm": NOTES_MM},
        identity=identity,
        identity_words=identity_text(sheet.part.name, sheet.part.revision, identity.plan_hash),
        page=page,
        pictures=_pictures(sheet, wording),
        frame_mm=_frame_mm(sheet)[0],
        steps=[_step(sheet, step, wording, first=step is sheet.steps[0]) for step in sheet.steps],
        measured=measured,
        code_picture=code_picture,
        move_sign=_sign,
        lang=settings.lang,
        say=wording,
        w=wording.word,
        paper=PAPERS[settings.paper],
        count_words=count_words(wording),
        record_name=RECORD_NAME,
        record=encoded(record) if record else "",
    )
    return rendered


def _frame_mm(sheet: PanelSheet) -> tuple[float, float]:
    count = len(sheet.steps)
    return SMALL_FRAME_MM if count == FOUR or count > SIX else FRAME_MM


def _pictures(sheet: PanelSheet, wording: Wording) -> dict[str, draw.Drawing]:
    """The finished part, and the blank in plan as it is laid for the first hit."""
    hit = sheet.hit(sheet.steps[0])
    right, back, _ = stand_of(hit, sheet.blank.thickness_mm).rotation
    return {
        "finished": finished_picture(
            sheet.blank,
            width_mm=FINISHED_MM[0],
            height_mm=FINISHED_MM[1],
            described=wording.word("plan.finished", part=sheet.part.name),
        ),
        "plan": blank_plan(
            sheet.blank,
            wording,
            width_mm=PLAN_MM[0],
            height_mm=PLAN_MM[1],
            mark=bend_mark,
            described=wording.word("plan.loaded", part=sheet.part.name),
            ways=(right[:2], back[:2]),
            foot=wording.word(f"face-{sheet.steps[0].marked_face}"),
        ),
    }


def _step(sheet: PanelSheet, step: SetupStep, wording: Wording, *, first: bool) -> dict[str, Any]:
    """A step as it is printed: its words and its pictures."""

    def pictured(size_mm: tuple[float, float], *, bent: bool) -> draw.Drawing:
        return hit_picture(
            sheet.blank,
            step,
            sheet.hit(step),
            sheet.machine,
            wording,
            bent=bent,
            width_mm=size_mm[0],
            height_mm=size_mm[1],
        )

    return {
        "keyed": step,
        "bends": panel_bends(step),
        "heading": panel_heading(sheet, step, wording),
        "moves": panel_moves(step, wording, first=first),
        "lies": panel_lies(sheet, step, wording),
        "rows": panel_rows(sheet, step, wording),
        "signs": panel_signs(sheet, step, wording),
        "lines": panel_lines(step, wording),
        "frame": pictured(_frame_mm(sheet), bent=False),
        "before": pictured(HIT_MM, bent=False),
        "bent": pictured(HIT_MM, bent=True),
    }


def _sign(code: str, turn_deg: float | None, wording: Wording) -> draw.Drawing:
    """The sign of a move; of a turn in the plane the arc it goes through, with its angle."""
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
