"""The text of a tagged PDF in reading order: its structure tree walked, as a reader that speaks the page walks it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pypdf

from .written import runs_of

LINES = {"P", "H1", "H2", "H3", "TH", "TD", "Figure", "NonStruct"}
"""What is read out as a line of its own; other text is a line by each smallest box around it."""


@dataclass(frozen=True)
class Line:
    """A line read out: what it is, on which page it stands, its words; of a picture, what is said of it as well."""

    kind: str
    page: int
    words: str
    said_of: str = ""
    marks: tuple[tuple[int, int], ...] = ()
    """Where it is written: pages and numbers of marked content."""


def lines_of(reader: pypdf.PdfReader) -> list[Line]:
    """Every line of the document, in the order of its structure tree; what is marked as no content is left out."""
    pages = {page.indirect_reference.idnum: number for number, page in enumerate(reader.pages, start=1)}  # type: ignore[union-attr]
    marked = {number: _marked_words(page, number) for number, page in enumerate(reader.pages, start=1)}
    root = reader.trailer["/Root"]["/StructTreeRoot"]  # type: ignore[index]
    return [line for line in _walked(root, pages, marked, 0) if line.words or line.said_of]


def _walked(element: Any, pages: dict[int, int], marked: dict[int, dict[int, str]], page: int) -> Iterator[Line]:
    """The lines below an element of the tree: one for an element that is read as a line, else those of its children."""
    page, kind = _page_of(element, pages, page), str(element.get("/S", ""))[1:]
    children = _children(element)
    if kind in LINES or kind == "Span":
        marks = tuple(_marks(element, pages, page))
        page = marks[0][0] if marks else page
        # A line that was broken goes on after a blank; pieces that carry their own blank stand as they are.
        words = re.sub(r"\s+", " ", " ".join(marked[at].get(mark, "") for at, mark in marks)).strip()
        yield Line(kind, page, words, str(element.get("/Alt", "")), marks)
        return
    for child in children:
        if not isinstance(child, int):
            yield from _walked(child, pages, marked, page)


def _marks(element: Any, pages: dict[int, int], page: int) -> Iterator[tuple[int, int]]:
    """The pages and numbers of the marked content below an element."""
    page = _page_of(element, pages, page)
    for child in _children(element):
        if isinstance(child, int):
            yield page, child
        else:
            yield from _marks(child, pages, page)


def _children(element: Any) -> list[Any]:
    """The children of an element: others like it, and the numbers of marked content."""
    held = element.get("/K")
    held = [] if held is None else held.get_object()
    found = [each.get_object() for each in (held if isinstance(held, list) else [held])]
    flat = [inner for each in found for inner in (each if isinstance(each, list) else [each])]
    return [int(each) if isinstance(each, int) else each.get_object() for each in flat]


def _page_of(element: Any, pages: dict[int, int], page: int) -> int:
    return pages[element.raw_get("/Pg").idnum] if "/Pg" in element else page


def _marked_words(page: pypdf.PageObject, number: int) -> dict[int, str]:
    """The words of a page by the number of their marked content."""
    found: dict[int, str] = {}
    for run in runs_of(page, number):
        if run.mark is not None:
            found[run.mark] = found.get(run.mark, "") + run.words
    return found
