"""The setup sheet: a planned job in, one PDF or HTML file out.

Takes: `SheetData`, which holds the part, its blank, its set-up and what the pictures show. Gives: the bytes of a sheet,
and its pictures one by one. Relies on: the rooms before it for every figure, `drawing` for lines and text, the
catalogue for words, jinja2 and (for PDF only, loaded when one is made) weasyprint.
Computes nothing of the bend: what cannot be computed is printed as such.
"""

from flangewise.sheet.data import Attachment, Flat, Identity, Measure, Profile, SheetData, SheetStep
from flangewise.sheet.render import PAPERS, TEMPLATES, MissingPangoError, Record, Settings, load_pdf_maker
from flangewise.sheet.sheet_files import (
    folder_inputs,
    plan_hash,
    read_record,
    replaced_by,
    sheet_path,
    superseded_path,
    withdraw,
)
from flangewise.sheet.step_picture import step_picture
from flangewise.sheet.wording import Wording
from flangewise.sheet.write import sheet_bytes

__all__ = [
    "PAPERS",
    "TEMPLATES",
    "Attachment",
    "Flat",
    "Identity",
    "Measure",
    "MissingPangoError",
    "Profile",
    "Record",
    "Settings",
    "SheetData",
    "SheetStep",
    "Wording",
    "folder_inputs",
    "load_pdf_maker",
    "plan_hash",
    "read_record",
    "replaced_by",
    "sheet_bytes",
    "sheet_path",
    "step_picture",
    "superseded_path",
    "withdraw",
]
