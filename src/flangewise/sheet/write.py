"""One sheet to bytes: the page filled in, as PDF or as one HTML file."""

from flangewise.sheet.data import Identity, SheetData
from flangewise.sheet.render import Printing, Record, html_of, pdf_of
from flangewise.sheet.wording import Wording


def sheet_bytes(sheet: SheetData, identity: Identity, settings: Printing, *, record: Record | None = None) -> bytes:
    """The sheet: the same bytes for the same data, identity and settings.

    `record` is what the file says of itself to the next run; left out, just its hashes.
    Raises MissingPangoError for a PDF where the system lacks the text library; HTML needs none.
    """
    told = record or Record(identity.plan_hash, identity.replaces)
    if settings.html:
        return html_of(sheet, identity, settings, record=told).encode()
    wording = Wording(sheet.machine, settings.lang, settings.units)
    html = html_of(sheet, identity, settings, record=None)
    return pdf_of(html, attachments=sheet.attachments, record=told, wording=wording)
