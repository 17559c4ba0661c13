"""The text of a tagged PDF in reading order: its structure tree walked, as a reader that speaks the page walks it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

import pypdf

OPERATOR = re.compile(
    rb"/MCID (\d+)\s*>>\s*BDC|\b(BMC|BDC)\b|\b(EMC)\b|/(\w+) [\d.]+ Tf|/(\w+) Do|"
    rb"\[([^\]]*)\]\s*TJ|<([0-9a-fA-F]*)>\s*Tj"
)
LINES = {"P", "H1", "H2", "H3", "TH", "TD", "Figure", "NonStruct"}
"""What is read out as a line of its own; other text is a line by each smallest box around it."""


@dataclass(frozen=True)
class Line:
    """A line read out: what it is, on which page it stands, its words; of a picture, what is said of it as well."""

    kind: str
    page: int
    words: str
    said_of: str = ""


def lines_of(reader: pypdf.PdfReader) -> list[Line]:
    """Every line of the document, in the order of its structure tree; what is marked as no content is left out."""
    pages = {page.indirect_reference.idnum: number for number, page in enumerate(reader.pages, start=1)}  # type: ignore[union-attr]
    marked = {number: _marked_words(page) for number, page in enumerate(reader.pages, start=1)}
    root = reader.trailer["/Root"]["/StructTreeRoot"]  # type: ignore[index]
    return [line for line in _walked(root, pages, marked, 0) if line.words or line.said_of]


def _walked(element: Any, pages: dict[int, int], marked: dict[int, dict[int, str]], page: int) -> Iterator[Line]:
    """The lines below an element of the tree: one for an element that is read as a line, else those of its children."""
    page, kind = _page_of(element, pages, page), str(element.get("/S", ""))[1:]
    children = _children(element)
    if kind in LINES or kind == "Span":
        pieces = list(_pieces(element, pages, marked, page))
        page = pieces[0][0] if pieces else page
        # A line that was broken goes on after a blank; pieces that carry their own blank stand as they are.
        words = re.sub(r"\s+", " ", " ".join(words for _, words in pieces)).strip()
        yield Line(kind, page, words, str(element.get("/Alt", "")))
        return
    for child in children:
        if not isinstance(child, int):
            yield from _walked(child, pages, marked, page)


def _pieces(
    element: Any, pages: dict[int, int], marked: dict[int, dict[int, str]], page: int
) -> Iterator[tuple[int, str]]:
    page = _page_of(element, pages, page)
    for child in _children(element):
        if isinstance(child, int):
            yield page, marked[page].get(child, "")
        else:
            yield from _pieces(child, pages, marked, page)


def _children(element: Any) -> list[Any]:
    """The children of an element: others like it, and the numbers of marked content."""
    held = element.get("/K")
    held = [] if held is None else held.get_object()
    found = [each.get_object() for each in (held if isinstance(held, list) else [held])]
    flat = [inner for each in found for inner in (each if isinstance(each, list) else [each])]
    return [int(each) if isinstance(each, int) else each.get_object() for each in flat]


def _page_of(element: Any, pages: dict[int, int], page: int) -> int:
    return pages[element.raw_get("/Pg").idnum] if "/Pg" in element else page


def _marked_words(page: pypdf.PageObject) -> dict[int, str]:
    """The words of a page by the number of their marked content."""
    found: dict[int, str] = {}
    contents = page.get_contents()
    assert contents is not None
    _read(contents.get_data(), page["/Resources"].get_object(), [], found)  # type: ignore[arg-type]
    return found


def _read(data: bytes, resources: Any, open_: list[int | None], found: dict[int, str]) -> None:
    """Reads a stream of content, forms within it as well, and adds what is written to what it is marked as."""
    letters: dict[str, str] = {}
    for match in OPERATOR.finditer(data):
        number, begun, ended, font, form, array, string = match.groups()
        if number is not None:
            open_.append(int(number))
        elif begun is not None:
            open_.append(None)
        elif ended is not None:
            open_.pop()
        elif font is not None:
            letters = _letters(resources["/Font"][f"/{font.decode()}"].get_object())
        elif form is not None:
            inner = resources["/XObject"][f"/{form.decode()}"].get_object()
            if inner["/Subtype"] == "/Form":
                _read(inner.get_data(), inner.get("/Resources", resources).get_object(), open_, found)
        else:
            codes = "".join(re.findall(r"<([0-9a-fA-F]*)>", array.decode("latin-1"))) if array else string.decode()
            words = "".join(letters[codes[at : at + 4].lower()] for at in range(0, len(codes), 4))
            inside = [each for each in open_ if each is not None]
            if inside:
                found[inside[-1]] = found.get(inside[-1], "") + words


def _letters(font: Any) -> dict[str, str]:
    """What each code of a font stands for, by the table that the font carries for readers."""
    return _table(font["/ToUnicode"].get_object().get_data())


@cache
def _table(table: bytes) -> dict[str, str]:
    pairs = re.findall(rb"<([0-9a-fA-F]{4})> <([0-9a-fA-F]+)>\n", table.split(b"beginbfchar", 1)[1])
    return {code.decode().lower(): bytes.fromhex(to.decode()).decode("utf-16-be") for code, to in pairs}
