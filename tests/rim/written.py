"""What is written on a page of a PDF: each run of letters with its place, its size, and the window it shows in."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import pypdf

NUMBER = rb"(-?[\d.]+)\s+"
OPERATOR = re.compile(
    rb"(?P<save>\bq\b)|(?P<restore>\bQ\b)|"
    rb"/MCID (?P<mark>\d+)\s*>>\s*BDC|(?P<begin>\bB(?:MC|DC)\b)|(?P<end>\bEMC\b)|"
    rb"/(?P<font>\w+) (?P<size>[\d.]+) Tf|/(?P<form>\w+) Do|"
    rb"\[(?P<letters>[^\]]*)\]\s*TJ|"
    rb"(?P<window>(?:-?[\d.]+\s+){4})re\s+W\*?\s+n\b|"
    rb"(?P<matrix>(?:-?[\d.]+\s+){6})(?P<which>cm|Tm)\b"
)
MARKS = re.compile(
    rb"(?P<save>\bq\b)|(?P<restore>\bQ\b)|/(?P<form>\w+) Do|(?P<letters>\bT[Jj]\b)|"
    rb"(?P<box>(?:-?[\d.]+\s+){4})re\b|(?P<point>(?:-?[\d.]+\s+){2})[lm]\b|"
    rb"(?P<matrix>(?:-?[\d.]+\s+){6})(?P<which>cm|Tm)\b"
)
Box = tuple[float, float, float, float]
Matrix = tuple[float, float, float, float, float, float]
AS_IT_IS: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
POINT_MM = 25.4 / 72
FOOT_MM = 20.1
"""The foot of every page stands below this."""
HIGH, LOW = 0.73, -0.02
"""The height of a capital and the base line, as shares of the size."""


@dataclass(frozen=True)
class Run:
    """Letters written at once: their size and place in points from the upper left corner of the page.

    `mark` is the number of the marked content; None for what is no content, such as the foot of the page.
    """

    page: int
    mark: int | None
    words: str
    size_pt: float
    box: Box
    window: Box
    base_pt: float
    in_picture: bool


@dataclass
class Hand:
    """What holds while a stream is read: matrices, window, font, and what the content is marked as."""

    matrix: Matrix
    window: Box
    text: Matrix = AS_IT_IS
    font: Any = None
    size: float = 1.0
    marks: list[int | None] = field(default_factory=list)


def runs_of(page: pypdf.PageObject, number: int) -> list[Run]:
    """The runs of a page in the order in which they are written; letters of one form are one run."""
    contents, high = page.get_contents(), float(page.mediabox.height)
    assert contents is not None
    wide = float(page.mediabox.width)
    hand = Hand((1.0, 0.0, 0.0, -1.0, 0.0, high), (0.0, 0.0, wide, high))
    return list(_read(contents.get_data(), page["/Resources"].get_object(), hand, number, in_form=False))


def marks_mm(page: pypdf.PageObject) -> list[tuple[float, float]]:
    """Where on a page text and the ends of strokes stand, in mm from the lower left corner."""
    contents = page.get_contents()
    assert contents is not None
    spots = _marked(contents.get_data(), page["/Resources"].get_object(), AS_IT_IS, in_form=False)
    return [(across * POINT_MM, up * POINT_MM) for across, up in spots]


def _marked(data: bytes, resources: Any, matrix: Matrix, *, in_form: bool) -> Iterator[tuple[float, float]]:
    """The places in points. The words of pictures are left out; that they stay in their frames is tested with these."""
    kept, text = list[Matrix](), AS_IT_IS
    for match in MARKS.finditer(data):
        kind, corners = match.lastgroup, list[tuple[float, float]]()
        if kind == "save":
            kept.append(matrix)
        elif kind == "restore":
            matrix = kept.pop()
        elif kind == "which":
            a, b, c, d, e, f = (float(each) for each in match["matrix"].split())
            if match["which"] == b"Tm":
                text = (a, b, c, d, e, f)
            else:
                matrix = _product((a, b, c, d, e, f), matrix)
        elif kind == "form":
            inner = resources["/XObject"][f"/{match['form'].decode()}"].get_object()
            if inner["/Subtype"] == "/Form":
                own = inner.get("/Resources", resources).get_object()
                yield from _marked(inner.get_data(), own, matrix, in_form=True)
        elif kind == "letters":
            corners = [] if in_form else [(text[4], text[5])]
        elif kind == "box":
            x, y, wide, high = (float(each) for each in match["box"].split())
            corners = [(x, y), (x + wide, y + high)]
        elif kind == "point":
            x, y = (float(each) for each in match["point"].split())
            corners = [(x, y)]
        for x, y in corners:
            yield matrix[0] * x + matrix[2] * y + matrix[4], matrix[1] * x + matrix[3] * y + matrix[5]


def lowest_mm(page: pypdf.PageObject) -> float:
    """How far over the edge of the paper the lowest mark of a page stands, the foot of the page not counted."""
    return min(up for _, up in marks_mm(page) if up > FOOT_MM)


def _read(data: bytes, resources: Any, hand: Hand, page: int, *, in_form: bool) -> Iterator[Run]:
    kept: list[tuple[Matrix, Box]] = []
    for match in OPERATOR.finditer(data):
        kind = match.lastgroup
        if kind == "save":
            kept.append((hand.matrix, hand.window))
        elif kind == "restore":
            hand.matrix, hand.window = kept.pop()
        elif kind == "mark":
            hand.marks.append(int(match["mark"]))
        elif kind == "begin":
            hand.marks.append(None)
        elif kind == "end":
            hand.marks.pop()
        elif kind == "size":
            hand.font, hand.size = resources["/Font"][f"/{match['font'].decode()}"].get_object(), float(match["size"])
        elif kind == "which":
            a, b, c, d, e, f = (float(each) for each in match["matrix"].split())
            if match["which"] == b"Tm":
                hand.text = (a, b, c, d, e, f)
            else:
                hand.matrix = _product((a, b, c, d, e, f), hand.matrix)
        elif kind == "window":
            x, y, wide, high = (float(each) for each in match["window"].split())
            hand.window = _shared(hand.window, _bounds(hand.matrix, (x, y, x + wide, y + high)))
        elif kind == "form":
            inner = resources["/XObject"][f"/{match['form'].decode()}"].get_object()
            if inner["/Subtype"] == "/Form":
                own = Hand(hand.matrix, hand.window, marks=hand.marks)
                runs = list(
                    _read(inner.get_data(), inner.get("/Resources", resources).get_object(), own, page, in_form=True)
                )
                yield from _joined(runs)
        elif kind == "letters":
            yield _run(match["letters"], hand, page, in_form=in_form)


def _run(letters: bytes, hand: Hand, page: int, *, in_form: bool) -> Run:
    """One run: its letters by the font's own table, its width by the font's own widths."""
    known, widths = _letters(hand.font), _widths(hand.font)
    words, wide = "", 0.0
    for codes, moved in re.findall(rb"<([0-9a-fA-F]*)>\s*(-?[\d.]*)", letters):
        for at in range(0, len(codes), 4):
            code = int(codes[at : at + 4], 16)
            words += known[code]
            wide += widths.get(code, 1000.0)
        wide -= float(moved or 0.0)
    matrix = _product(hand.text, hand.matrix)
    wide *= hand.size / 1000
    size = hand.size * (matrix[2] ** 2 + matrix[3] ** 2) ** 0.5
    box = _bounds(matrix, (0.0, LOW * hand.size, wide, HIGH * hand.size))
    inside = next((each for each in reversed(hand.marks) if each is not None), None)
    return Run(page, inside, words, size, box, hand.window, matrix[5], in_form)


def _joined(runs: list[Run]) -> Iterator[Run]:
    """The letters of a form as one run."""
    if runs:
        first = runs[0]
        left, top, right, low = zip(*(run.box for run in runs), strict=True)
        box = (min(left), min(top), max(right), max(low))
        words = "".join(run.words for run in runs)
        yield Run(first.page, first.mark, words, first.size_pt, box, first.window, first.base_pt, in_picture=True)


def _product(inner: Matrix, outer: Matrix) -> Matrix:
    a, b, c, d, e, f = inner
    g, h, i, j, k, m = outer
    return (a * g + b * i, a * h + b * j, c * g + d * i, c * h + d * j, e * g + f * i + k, e * h + f * j + m)


def _bounds(matrix: Matrix, box: Box) -> Box:
    """The upright box around a box as the matrix lays it on the page."""
    a, b, c, d, e, f = matrix
    corners = [(a * x + c * y + e, b * x + d * y + f) for x in box[::2] for y in box[1::2]]
    across, down = zip(*corners, strict=True)
    return min(across), min(down), max(across), max(down)


def _shared(one: Box, other: Box) -> Box:
    return max(one[0], other[0]), max(one[1], other[1]), min(one[2], other[2]), min(one[3], other[3])


def _letters(font: Any) -> dict[int, str]:
    """What each code of a font stands for, by the table that the font carries for readers."""
    return _table(font["/ToUnicode"].get_object().get_data())


@cache
def _table(table: bytes) -> dict[int, str]:
    pairs = re.findall(rb"<([0-9a-fA-F]{4})> <([0-9a-fA-F]+)>\n", table.split(b"beginbfchar", 1)[1])
    return {int(code, 16): bytes.fromhex(to.decode()).decode("utf-16-be") for code, to in pairs}


def _widths(font: Any) -> dict[int, float]:
    """The width of each code in thousandths of the size."""
    return _widths_in(str(font["/DescendantFonts"][0].get_object()["/W"]))


@cache
def _widths_in(told: str) -> dict[int, float]:
    found: dict[int, float] = {}
    for first, row in re.findall(r"(\d+), \[([^\]]*)\]", told):
        found |= {int(first) + at: float(each) for at, each in enumerate(row.split(","))}
    return found
