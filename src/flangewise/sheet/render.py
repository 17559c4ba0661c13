"""One sheet to bytes: the template filled in, and the page made a PDF. Only this loads jinja2 and weasyprint.

In their folder sheets are kept if made from the same inputs, replaced whole or not at all, withdrawn when refused. A
finished sheet carries a record of the hash it was made from, so no list of sheets need be kept beside them.
"""

import datetime
import re
from collections.abc import Callable, Iterable, Sequence
from functools import cache, partial
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template
from markupsafe import Markup

from flangewise.drawing import svg
from flangewise.records import dataclass, replace
from flangewise.sheet.bed_picture import bed_picture
from flangewise.sheet.blank_picture import blank_picture
from flangewise.sheet.code import code_picture, identity_text
from flangewise.sheet.data import Attachment, Identity, SheetData
from flangewise.sheet.finish_picture import finish_picture
from flangewise.sheet.heights import is_long, is_low
from flangewise.sheet.leaf import Leaf, leaf_of, most_pages
from flangewise.sheet.lie_picture import lie_picture
from flangewise.sheet.page_words import page_words
from flangewise.sheet.record import RECORD_MARK, RECORD_NAME, Record, encoded
from flangewise.sheet.section_picture import section_picture
from flangewise.sheet.signs import move_sign, zero_picture
from flangewise.sheet.step_findings import step_signs
from flangewise.sheet.step_words import (
    bends_of,
    boxes_of,
    correction_cell,
    gauged_on,
    heading,
    keyed_line,
    measured,
    moves_before,
    reads,
    step_lines,
)
from flangewise.sheet.strip_picture import frame_picture
from flangewise.sheet.tablet import (
    other_readings,
    piece_readings,
    step_readings,
    step_settings,
    stroke_pictures,
    tablet_data,
)
from flangewise.sheet.wording import Wording
from flangewise.shop import PaperName

TEMPLATES = Path(__file__).parent / "templates"
LEAF, TABLET = "sheet.html", "tablet.html"
PRINTED: tuple[Callable[..., Any], ...] = (
    *(bed_picture, blank_picture, code_picture, finish_picture, frame_picture, lie_picture, section_picture),
    *(move_sign, zero_picture, bends_of, boxes_of, correction_cell, gauged_on, heading, keyed_line, measured),
    *(is_long, is_low, moves_before, reads, step_lines, step_signs),
    *(stroke_pictures, tablet_data, piece_readings, step_readings, step_settings, other_readings),
)
"""Pictures and words that the template asks for where it prints them."""
SHORT_MM = (0.0, 5.0, 11.0)
"""What is left free of each page, tried in turn where the words take more room than was reckoned."""
STILL = datetime.datetime(2000, 1, 1, tzinfo=datetime.UTC)
"""The one date of all attachments: the same inputs must give the same bytes."""


@dataclass(frozen=True)
class Paper:
    """A paper and its margins in mm; the left one leaves room for a binder. The width printed on is 180 mm on both."""

    width_mm: float
    height_mm: float
    top_mm: float
    right_mm: float
    bottom_mm: float

    @property
    def printed_mm(self) -> float:
        """The height between the margins."""
        return self.height_mm - self.top_mm - self.bottom_mm


PAPERS: dict[str, Paper] = {
    "a4": Paper(210.0, 297.0, 8.0, 10.0, 19.6),
    "letter": Paper(215.9, 279.4, 8.0, 15.9, 19.6),
}


@dataclass(frozen=True)
class Printing:
    """How a sheet is printed: language, units, paper, and whether as PDF or as one HTML file.

    `units` None: those of the part.
    """

    lang: str = "en"
    units: str | None = None
    paper: PaperName = "a4"
    html: bool = False


class MissingPangoError(Exception):
    """The text library that the PDF maker needs is not installed. Says what to install in one line."""


def sheet_bytes(sheet: SheetData, identity: Identity, settings: Printing, *, record: Record | None = None) -> bytes:
    """The sheet: the same bytes for the same data, identity and settings.

    `record` is what the file says of itself to the next run; left out, just its hashes.
    Raises MissingPangoError for a PDF where the system lacks the text library; HTML needs none.
    """
    told = record or Record(identity.plan_hash, identity.replaces)
    if settings.html:
        return html_of(sheet, identity, settings, record=told, template=TABLET).encode()
    html, *tighter = (partial(html_of, sheet, identity, settings, record=None, short_mm=mm) for mm in SHORT_MM)
    return pdf_of(
        html(),
        attachments=sheet.attachments,
        record=told,
        wording=wording_of(sheet, settings),
        tighter=tighter,
        most_pages=most_pages(sheet),
    )


def wording_of(sheet: SheetData, settings: Printing) -> Wording:
    """Words and numbers of a sheet: in the part's own units, unless others are asked for."""
    return Wording(sheet.machine, settings.lang, settings.units or sheet.part.units)


def html_of(
    sheet: SheetData,
    identity: Identity,
    settings: Printing,
    *,
    record: Record | None,
    template: str = LEAF,
    short_mm: float = 0.0,
    layout: Leaf | None = None,
) -> str:
    """The sheet as one HTML text: pictures and style inside, nothing to fetch; part text escaped.

    The record is written into the head of a sheet that stays HTML; a PDF carries its own. The template for a tablet
    holds the leaf's own, and wants the moments of each stroke. So much of each page is left free, `short_mm`, unless
    the `layout` of another sheet is taken.
    """
    wording = wording_of(sheet, settings)
    run = None
    if sheet.run is not None:
        from flangewise.sheet import run_page

        run = run_page.run_page(sheet, wording), run_page.stack_picture(sheet, wording)
    page, paper = page_words(sheet, identity, wording), PAPERS[settings.paper]
    return (
        _templates()
        .get_template(template)
        .render(
            sheet=sheet,
            run=run,
            own=LEAF,
            place=lambda step, said: "",
            leaf=layout or leaf_of(sheet, page, wording, high_mm=paper.printed_mm - short_mm),
            identity=identity,
            identity_words=identity_text(sheet.part.name, sheet.part.revision, identity.plan_hash),
            page=page,
            lang=settings.lang,
            say=wording,
            w=wording.word,
            paper=paper,
            count_words=count_words(wording),
            record_name=RECORD_NAME,
            record=encoded(record) if record else "",
        )
    )


def layout_of(
    sheet: SheetData, stands: Sequence[Sequence[str]], identity: Identity, settings: Printing, *, short_mm: float
) -> Leaf:
    """How the pages of a sheet share their height, so much of each left free; `stands`: what is said of each pair."""
    wording = wording_of(sheet, settings)
    high_mm = PAPERS[settings.paper].printed_mm - short_mm
    page = {**page_words(sheet, identity, wording), "stands": stands}
    return leaf_of(sheet, page, wording, high_mm=high_mm)


def template(name: str) -> Template:
    """A template of the room by its file name, ready to be filled in."""
    return _templates().get_template(name)


@cache
def _templates() -> Environment:
    made = Environment(loader=FileSystemLoader(TEMPLATES), autoescape=True, undefined=StrictUndefined)
    made.filters["picture"] = lambda drawing: Markup(svg(drawing))
    made.filters["css"] = css_words
    made.globals.update({each.__name__: each for each in PRINTED})
    return made


def count_words(wording: Wording) -> list[str]:
    """The words of "page 2 of 5" before, between and behind its two numbers."""
    return re.split(r"[\x02\x03]", wording.word("page-of", page="\x02", pages="\x03"))


def css_words(words: str) -> Markup:
    """Words as a CSS string in which every sign that is not a plain letter is written as its code."""
    letters = (each if each.isascii() and each.isalnum() else f"\\{ord(each):06x}" for each in words)
    return Markup('"' + "".join(letters) + '"')


def pdf_of(
    html: str,
    *,
    attachments: tuple[Attachment, ...],
    record: Record,
    wording: Wording,
    tighter: Iterable[Callable[[], str]] = (),
    most_pages: int = 0,
) -> bytes:
    """The page as a tagged PDF (PDF/UA-1), the same bytes for the same page; attachments ride inside.

    Where it takes more pages than are meant at most, `tighter` ones are made in its place, one after the other.

    The record, its page count filled in, lies uncompressed in the place that PDF keeps for an application's own data.
    Raises MissingPangoError where the system lacks the text library.
    """
    weasyprint = load_pdf_maker()
    files = [
        weasyprint.Attachment(
            string=each.content, name=each.name, description=wording.said(each.described), relationship="Source",
            created=STILL, modified=STILL,
        )
        for each in attachments
    ]  # fmt: skip

    def laid_out(text: str) -> Any:
        page = weasyprint.HTML(string=text, base_url=TEMPLATES.as_uri() + "/", url_fetcher=_refusing())
        return page.render(pdf_variant="pdf/ua-1", attachments=files)

    document = laid_out(html)
    for other in tighter:
        if len(document.pages) <= most_pages:
            break
        document = laid_out(other())
    counted = replace(record, pages=len(document.pages))
    made: bytes = document.write_pdf(
        pdf_variant="pdf/ua-1",
        pdf_identifier=record.plan_hash.encode(),
        attachments=files,
        finisher=lambda _, pdf: _leave_record(pdf, counted),
    )
    return made


def _leave_record(pdf: Any, record: Record) -> None:
    """Put the record in the page-piece dictionary of the catalogue (ISO 32000-1, 14.5), as a plain stream."""
    import pydyf  # type: ignore[import-untyped]

    private = pydyf.Stream([RECORD_MARK + encoded(record).encode() + b" "])
    pdf.add_object(private)
    piece = pydyf.Dictionary({"LastModified": pydyf.String(f"D:{STILL:%Y%m%d%H%M%SZ}"), "Private": private.reference})
    pdf.catalog["PieceInfo"] = pydyf.Dictionary({"flangewise": piece})


def load_pdf_maker() -> Any:
    """The PDF maker, loaded when the first PDF is made: it takes longer to load than all the rest.

    Raises MissingPangoError where the system lacks the text library.
    """
    try:
        import weasyprint
    except OSError as missing:
        raise MissingPangoError(str(missing)) from missing
    return weasyprint


def _refusing() -> Callable[..., Any]:
    """A fetcher that hands out nothing but files of the template folder, and fetches nothing from anywhere."""
    folder = TEMPLATES.resolve()

    def fetch(url: str, *_: object, **__: object) -> dict[str, Any]:
        path = Path(url.removeprefix("file://")).resolve()
        if not url.startswith("file://") or not path.is_relative_to(folder):
            raise ValueError(f"nothing outside the template folder is read: {url}")
        return {"string": path.read_bytes(), "mime_type": "application/octet-stream"}

    return fetch
