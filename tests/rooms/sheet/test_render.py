"""The rendered sheet: PDF read back, HTML self-contained, nothing fetched, nothing run from a part's text."""

import io
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import pypdf
import pytest

from flangewise.sheet import PAPERS, Attachment, Identity, Printing, Record, SheetData, sheet_bytes
from flangewise.sheet.record import RECORD_NAME
from flangewise.sheet.render import _refusing, count_words, css_words, html_of, pdf_of
from flangewise.words import phrase

from .demo import channel, wording as wording_of

IDENTITY = Identity("a1b2c3d4e5f6", "0.1.0", "9f8e7d6c5b4a")


def data() -> SheetData:
    files = (
        Attachment("foot.plan.json", b'{"part": "rain-gauge-foot"}\n', phrase("sheet.attached.plan")),
        Attachment("foot.dxf", b"  0\nSECTION\n", phrase("sheet.attached.blank")),
    )
    return replace(channel(), attachments=files)


@cache
def pdf(paper: str = "a4") -> bytes:
    return sheet_bytes(data(), IDENTITY, Printing(paper=paper))  # type: ignore[arg-type]


@cache
def reader(paper: str = "a4") -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(pdf(paper)))


@cache
def page_texts(paper: str = "a4") -> list[str]:
    return [" ".join(page.extract_text().split()) for page in reader(paper).pages]


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_pages_have_the_size_of_the_paper(paper: str) -> None:
    looked_at = reader(paper).pages
    assert looked_at
    for page in looked_at:
        assert float(page.mediabox.width) * 25.4 / 72 == pytest.approx(PAPERS[paper].width_mm, abs=0.05)
        assert float(page.mediabox.height) * 25.4 / 72 == pytest.approx(PAPERS[paper].height_mm, abs=0.05)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_every_page_says_part_revision_hash_notice_and_its_number(paper: str) -> None:
    texts = page_texts(paper)
    looked_at = list(enumerate(texts, start=1))
    assert looked_at
    for number, text in looked_at:
        assert "rain-gauge-foot" in text
        assert "revision B" in text
        assert "a1b2c3d4e5f6" in text
        assert "A competent person must do the risk assessment" in text
        assert f"page {number} of {len(texts)}" in text


def test_job_and_order_stand_in_front_and_the_record_behind() -> None:
    texts = page_texts()
    assert len(texts) == 2
    for words in ("Governing limit: die vee-12", "Tools to collect", "90° toward the marked face", "DEPTH"):
        assert words in texts[0]
    assert "First piece" not in texts[0]
    for words in ("First piece", "first piece released", "scrap", "photo of the first piece", "packing"):
        assert words in texts[1]


def test_the_numbers_of_each_step_are_there() -> None:
    text, wording = " ".join(page_texts()), wording_of()
    looked_at = data().setup.steps
    assert looked_at
    for step in looked_at:
        shown = (
            wording.stop(step.stops.x_mm),
            wording.angle(step.ram.bend_to_deg),
            wording.opening(step.ram.opening.open_height_mm),
            wording.depth(step.ram.depth_mm),
        )
        for number in (
            *shown,
            wording.stop(step.stops.r_mm),
            *(wording.across(z) for z in step.stops.z_mm),
            wording.force(step.force_kn),
        ):
            assert number in text


def test_no_step_row_is_split() -> None:
    texts = page_texts()
    for number in (1, 2):
        (page,) = [text for text in texts if f"Read {'AB'[number - 1]} 90" in text]
        assert "leg read" in page


def test_what_it_replaces_is_said_and_left_out_where_it_replaces_nothing() -> None:
    assert "replaces plan 9f8e7d6c5b4a" in page_texts()[0]
    html = html_of(data(), replace(IDENTITY, replaces=""), Printing(html=True), record=None)
    assert "replaces plan" not in html


def test_attachments_come_out_as_they_went_in() -> None:
    files = reader().attachments
    assert files["foot.plan.json"] == [b'{"part": "rain-gauge-foot"}\n']
    assert files["foot.dxf"] == [b"  0\nSECTION\n"]


def test_all_fonts_are_embedded() -> None:
    found = set()
    for page in reader().pages:
        for font in page["/Resources"]["/Font"].values():
            inner = font.get_object()
            for below in inner.get("/DescendantFonts", [inner]):
                descriptor = below.get_object()["/FontDescriptor"].get_object()
                assert {"/FontFile2", "/FontFile3"} & set(descriptor)
                found.add(str(descriptor["/FontName"]).split("+")[-1])
    assert all("DejaVu" in name for name in found)


def test_it_is_tagged_titled_and_has_a_language() -> None:
    root = reader().trailer["/Root"]
    assert root["/Lang"] == "en"
    assert root["/MarkInfo"]["/Marked"]
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader().metadata is not None and reader().metadata.title == "Setup sheet rain-gauge-foot revision B"
    assert b"pdfuaid" in root["/Metadata"].get_data()


def structure(node: object) -> list[pypdf.generic.DictionaryObject]:
    found = []
    inner = node.get_object()  # type: ignore[attr-defined]
    if isinstance(inner, pypdf.generic.DictionaryObject) and "/S" in inner:
        found.append(inner)
        kids = inner.get("/K", [])
        for kid in kids if isinstance(kids, list) else [kids]:
            if not isinstance(kid, int):
                found += structure(kid)
    return found


def test_every_picture_has_words_and_headings_are_headings() -> None:
    root = reader().trailer["/Root"]["/StructTreeRoot"]["/K"]
    nodes = structure(root[0] if isinstance(root, list) else root)
    figures = [node for node in nodes if node["/S"] == "/Figure"]
    assert len(figures) >= 6
    assert all(len(str(node["/Alt"])) > 20 for node in figures)
    assert {"/H1", "/H2", "/H3", "/Table", "/TH", "/TD"} <= {node["/S"] for node in nodes}


def test_bookmarks_lead_to_the_sections_and_steps() -> None:
    def titles(outline: list) -> list[str]:  # type: ignore[type-arg]
        return [title for each in outline for title in (titles(each) if isinstance(each, list) else [each.title])]

    found = titles(reader().outline)
    assert any("Tools to collect" in title for title in found)
    assert any("2 B 90" in title for title in found)


@pytest.mark.anew
def test_the_same_sheet_is_the_same_bytes() -> None:
    assert sheet_bytes(data(), IDENTITY, Printing()) == pdf()


def test_another_hash_is_another_file() -> None:
    """Also where the very page is the same."""
    one, other = (_short_pdf(Record(plan_hash)) for plan_hash in ("a1b2c3d4e5f6", "000000000000"))
    assert one != other
    pages = [html_of(data(), replace(IDENTITY, plan_hash=h), Printing(), record=None) for h in ("a1b2", "0000")]
    assert pages[0] != pages[1]


def _short_pdf(record: Record) -> bytes:
    return pdf_of(
        "<html lang='en'><title>t</title><p>short</p></html>", attachments=(), record=record, wording=wording_of()
    )


def test_no_date_unless_asked_for() -> None:
    assert "2031-05-06" not in html_of(data(), IDENTITY, Printing(html=True), record=None)
    assert "2031-05-06" in html_of(data(), replace(IDENTITY, date="2031-05-06"), Printing(html=True), record=None)
    assert reader().metadata is not None and reader().metadata.creation_date is None


def test_html_is_one_file_that_fetches_nothing() -> None:
    html = sheet_bytes(data(), IDENTITY, Printing(html=True)).decode()
    assert not re.search(r"(?:src|href)=|url\(|@import|<link", html)
    assert not re.search(r"fetch\(|XMLHttpRequest|WebSocket|EventSource|sendBeacon|import\(", html)
    assert "default-src 'none'" in html
    assert set(re.findall(r"https?://[^\"' <]*", html)) == {"http://www.w3.org/2000/svg"}
    assert f'<meta name="{RECORD_NAME}"' in html


def test_text_of_a_part_is_escaped_everywhere() -> None:
    nasty = "<script>alert(1)</script>\"'&{{ 7*7 }}</style>"
    part = replace(data().part, title=nasty, drawing=nasty, notes=(nasty,))
    rows = {row: getattr(data(), row).model_copy(update={"name": nasty}) for row in ("machine", "handler")}
    html = html_of(replace(data(), part=part, **rows), replace(IDENTITY, date=nasty), Printing(html=True), record=None)
    assert "<script>" not in html
    assert "49" not in re.findall(r"alert\(1\).{0,60}", html)[0]
    assert html.count("</style>") == 1


def test_a_part_text_that_names_a_picture_does_not_fetch_it(tmp_path: Path) -> None:
    secret = tmp_path / "secret.svg"
    secret.write_text("<svg xmlns='http://www.w3.org/2000/svg'><text>SECRET</text></svg>")
    part = replace(data().part, notes=(f'<img src="file://{secret}">',))
    made = sheet_bytes(replace(data(), part=part), IDENTITY, Printing())
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(made)).pages)
    assert "SECRET" not in text


@pytest.mark.parametrize(
    "url", ["file:///etc/passwd", "http://127.0.0.1/x", "data:text/plain,x", "ftp://x/y", "templates/../../x"]
)
def test_the_fetcher_hands_out_nothing_from_outside(url: str) -> None:
    with pytest.raises(ValueError, match="outside the template folder"):
        _refusing()(url)


def test_words_in_css_are_escaped() -> None:
    assert css_words('a"</style>') == '"a\\000022\\00003c\\00002fstyle\\00003e"'


def test_the_page_count_is_split_where_its_numbers_go() -> None:
    assert count_words(wording_of()) == ["page ", " of ", ""]


def test_the_record_lies_uncompressed_in_the_pdf_and_counts_its_pages() -> None:
    made = _short_pdf(Record("abc"))
    assert b"flangewise-record:" in made
    piece = pypdf.PdfReader(io.BytesIO(made)).trailer["/Root"]["/PieceInfo"]["/flangewise"]
    assert piece["/Private"].get_data().startswith(b"flangewise-record:")


def test_inch_sheets_say_inch_and_convert() -> None:
    html = html_of(data(), IDENTITY, Printing(units="inch"), record=None)
    assert "Lengths inch" in html
    assert f"{data().setup.steps[0].stops.x_mm / 25.4:.3f}" in html  # type: ignore[operator]


def test_a_sheet_is_in_the_units_of_its_part_unless_others_are_asked_for() -> None:
    inch = replace(data(), part=replace(data().part, units="inch"))
    heads = [html_of(inch, IDENTITY, Printing(units=units), record=None) for units in (None, "mm", "inch")]
    assert [("Lengths inch" in head, "Lengths mm" in head) for head in heads] == [
        (True, False),
        (False, True),
        (True, False),
    ]
