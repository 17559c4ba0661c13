"""The setup sheet: a planned job in, one PDF or HTML file out.

Takes: `SheetData`, which holds the part, its blank, its set-up and what the pictures show. Gives: the bytes of a sheet,
and its pictures one by one. Relies on: the rooms before it for every figure, `drawing` for lines and text, the
catalogue for words, jinja2 and (for PDF only, loaded when one is made) weasyprint.
Computes nothing of the bend: what cannot be computed is printed as such.
"""

from typing import TYPE_CHECKING

from flangewise.late import late

from .data import (
    Attachment as Attachment,
    Flat as Flat,
    Gripped as Gripped,
    Identity as Identity,
    Measure as Measure,
    Profile as Profile,
    SheetData as SheetData,
    SheetStep as SheetStep,
)
from .record import (
    WITHDRAWN as WITHDRAWN,
    Record as Record,
    folder_inputs as folder_inputs,
    plan_hash as plan_hash,
    read_record as read_record,
    record_in as record_in,
    replaced_by as replaced_by,
    sheet_path as sheet_path,
    withdraw as withdraw,
)
from .render import (
    PAPERS as PAPERS,
    TEMPLATES as TEMPLATES,
    MissingPangoError as MissingPangoError,
    Printing as Printing,
    load_pdf_maker as load_pdf_maker,
    sheet_bytes as sheet_bytes,
)
from .step_picture import step_picture as step_picture
from .wording import Wording as Wording

if TYPE_CHECKING:
    from .family import family_bytes as family_bytes, fitting as fitting
    from .hit_view import hit_picture as hit_picture
    from .panel_data import PanelSheet as PanelSheet
    from .panel_leaf import panel_sheet_bytes as panel_sheet_bytes
    from .plan_view import blank_plan as blank_plan
    from .queue_page import queue_pdf as queue_pdf
    from .space_picture import finished_picture as finished_picture

# Loaded when first asked for: the sheet of a section needs nothing in space.
__getattr__ = late(
    __name__,
    *("plan_view", "hit_view", "space_picture", "panel_data", "panel_leaf"),
    queue_page=("queue_pdf",),
    family=("family_bytes", "fitting"),
)
