"""One sheet to bytes: the page filled in, as PDF or as one HTML file."""

from flangewise.sheet.data import Identity, SheetData
from flangewise.sheet.render import Record, Settings, html_of, pdf_of
from flangewise.sheet.voice import Voice


def sheet_bytes(sheet: SheetData, identity: Identity, settings: Settings) -> bytes:
    """The sheet: the same bytes for the same data, identity and settings.

    Raises MissingPangoError for a PDF where the system lacks the text library; HTML needs none.
    """
    findings = tuple(
        {
            "severity": finding.severity,
            "code": finding.code,
            "where": finding.place(settings.lang),
            "text": finding.text(settings.lang, settings.units),
        }
        for finding in sheet.findings
    )
    record = Record(identity.plan_hash, identity.replaces, None, findings)
    if settings.html:
        return html_of(sheet, identity, settings, record=record).encode()
    voice = Voice(settings.lang, settings.units, sheet.resolution)
    html = html_of(sheet, identity, settings, record=None)
    return pdf_of(html, attachments=sheet.attachments, record=record, voice=voice)
