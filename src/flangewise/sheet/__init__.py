"""The setup sheet: a frozen tree of what is printed in, one PDF or HTML file out.

Takes: `SheetData`, made from a planned job. Gives: the bytes of a sheet, and its pictures one by one. Relies on:
`drawing` for lines and text, the catalogue for words, jinja2 and (for PDF only, loaded when one is made) weasyprint.
Computes nothing of the bend: what cannot be computed is printed as such.
"""

from flangewise.sheet.blank_picture import blank_picture
from flangewise.sheet.data import (
    Attachment,
    BendLine,
    Blank,
    Body,
    Finish,
    FlatPose,
    Hole,
    Identity,
    Job,
    Load,
    MaterialCheck,
    Measure,
    Pose,
    Resolution,
    SheetData,
    Station,
    Step,
    Tools,
)
from flangewise.sheet.keep import (
    folder_inputs,
    plan_hash,
    read_record,
    replaced_by,
    sheet_path,
    superseded_path,
    withdraw,
)
from flangewise.sheet.misload import Misload, misloads
from flangewise.sheet.render import PAPERS, TEMPLATES, MissingPangoError, Record, Settings, load_pdf_maker
from flangewise.sheet.step_picture import step_picture
from flangewise.sheet.voice import Voice
from flangewise.sheet.write import sheet_bytes

__all__ = [
    "PAPERS",
    "TEMPLATES",
    "Attachment",
    "BendLine",
    "Blank",
    "Body",
    "Finish",
    "FlatPose",
    "Hole",
    "Identity",
    "Job",
    "Load",
    "MaterialCheck",
    "Measure",
    "Misload",
    "MissingPangoError",
    "Pose",
    "Record",
    "Resolution",
    "Settings",
    "SheetData",
    "Station",
    "Step",
    "Tools",
    "Voice",
    "blank_picture",
    "folder_inputs",
    "load_pdf_maker",
    "misloads",
    "plan_hash",
    "read_record",
    "replaced_by",
    "sheet_bytes",
    "sheet_path",
    "step_picture",
    "superseded_path",
    "withdraw",
]
