"""One leaf for the sizes of a family: what all their sheets say stands as it is, what differs stands in a table.

Each size's sheet is filled in by itself, and the texts are laid over one another place by place. A figure that is not
the same for all gives way to a word that points to the table, where each size has its own; so nothing on the leaf is
said of a size that the sheet of that size would not say. Pictures are those of the first size.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from functools import partial

from markupsafe import Markup, escape

from flangewise.records import dataclass, field, replace
from flangewise.sheet.data import Identity, SheetData
from flangewise.sheet.family_lines import MOST_NAMED, By, line_words, merged_lines
from flangewise.sheet.leaf import most_pages
from flangewise.sheet.page_words import stand_lines
from flangewise.sheet.record import Record
from flangewise.sheet.render import Printing, html_of, layout_of, pdf_of, template, wording_of
from flangewise.sheet.wording import MISSING, Wording

PICTURE_MARK = "▦"
"""Stands in a picture in the place of a figure that is not the same for all sizes."""
COLUMNS = 6
"""So many figures stand side by side in the table at 11 pt and more, even with long words over them."""
SHORT_MM = (11.0, 16.0, 22.0)
"""What is left free of each page for the lines about the family, and where words take more room than was reckoned."""
_PIECE = re.compile(r"(?:<svg.*?</svg>|<style.*?</style>|<p[ >].*?</p>|<[^>]+>|[^<]+)\s*", re.DOTALL)
_TAG = re.compile(r"</?\w+")
_WORDS = re.compile(r"(<text[^>]*>|<title>)(.*?)(</text>|</title>)", re.DOTALL)


@dataclass(frozen=True)
class SizesColumn:
    """Figures of all sizes under one label, at one place of the leaf, as they stand in its text: escaped."""

    label: str
    values: tuple[str, ...]

    @property
    def shown(self) -> tuple[Markup, ...]:
        """The label and the figures, to be put in a page as they are."""
        return tuple(map(Markup, (self.label, *self.values)))


@dataclass
class _Found:
    """What was found to differ while the texts are laid over one another, and where that is."""

    always: frozenset[str]
    place: str = "job"
    label: str = ""
    heads: list[str] = field(default_factory=list)
    row: str = ""
    cell: int = -1
    in_head: bool = False
    last_tag: str = ""
    columns: dict[str, dict[str, SizesColumn]] = field(default_factory=dict)
    measured: dict[str, SizesColumn] = field(default_factory=dict)
    lines: dict[tuple[str, tuple[str, ...]], bool] = field(default_factory=dict)

    def meet(self, tag: str) -> None:
        """Follow the first size's tags, to know where a text stands."""
        name = _TAG.match(tag)
        self.last_tag = name.group() if name else ""
        if tag.startswith('<article class="step"'):
            self.place = f"step {int(self.place[5:] or 0) + 1}" if self.place.startswith("step ") else "step 1"
        elif tag.startswith('<section class="record'):
            self.place = "first"
        elif tag.startswith('<table class="measures"'):
            self.heads, self.cell = [], -1
        elif self.last_tag in ("<tr", "</table"):
            self.row, self.cell = "", -1
            self.heads = [] if self.last_tag == "</table" else self.heads
        elif self.last_tag == "<td":
            self.cell += 1
        elif self.last_tag in ("<div", "<h1", "<section"):
            self.label = ""

    def text(self, words: Sequence[str]) -> str:
        """What stands on the leaf for the texts of all sizes at one place, which go to the table where they differ."""
        first, same = words[0], len(set(words)) == 1
        if self.last_tag == "<th":
            self.heads.append(first)
        if self.last_tag == "<b" and same:
            self.label = first
        if self.last_tag == "<td" and self.cell == 0:
            self.row = first if same else ""
        values = tuple(words)
        if self.last_tag == "<td" and self.heads and self.row and 0 < self.cell < len(self.heads):
            label = f"{self.row} {self.heads[self.cell]}"
            if self.cell == 1:
                self.measured[self.row] = SizesColumn(self.row, values)
            elif not same:
                self.column(label, values)
        elif self.last_tag == "<span" and self.label:
            if not same or self.label in self.always:
                self.column(self.label, values)
        elif not same:
            self.lines[self.place, values] = False
        return first if same else ""

    def column(self, label: str, values: tuple[str, ...]) -> None:
        """Put figures in the table, under a label of their own."""
        there = self.columns.setdefault(self.place, {})
        number, name = 1, label
        while name in there and there[name].values != values:
            number, name = number + 1, f"{label} ({number + 1})"
        there[name] = SizesColumn(name, values)


def fitting(sheets: Sequence[SheetData], family: str, identity: Identity, settings: Printing) -> tuple[int, ...]:
    """Which of the sizes show the same things at the same places as the first does, so that one leaf can hold them."""
    cards, names = _one_card(sheets, family), [sheet.part.name for sheet in sheets]
    shapes = [_shape(text) for text in _texts(cards, names, identity, settings, SHORT_MM[0])]
    return tuple(index for index, shape in enumerate(shapes) if shape == shapes[0])


def family_bytes(
    sheets: Sequence[SheetData], family: str, identity: Identity, settings: Printing, *, record: Record
) -> bytes:
    """The leaf of sizes that fit together, as a PDF with the family's name.

    Raises MissingPangoError where the system lacks the text library.
    """
    cards, wording = _one_card(sheets, family), wording_of(sheets[0], settings)
    names = [sheet.part.name for sheet in sheets]
    titles = tuple(sheet.part.title or MISSING for sheet in sheets)
    revisions = tuple(wording.word("revision", revision=sheet.part.revision or MISSING) for sheet in sheets)
    cards_differ = [tuple(map(str, map(escape, each))) for each in (titles, revisions) if len(set(each)) > 1]

    def made(short_mm: float) -> str:
        return _merged(_texts(cards, names, identity, settings, short_mm), names, cards_differ, wording)

    html, *tighter = (partial(made, mm) for mm in SHORT_MM)
    return pdf_of(
        html(),
        attachments=tuple(each for sheet in sheets for each in sheet.attachments),
        record=record,
        wording=wording,
        tighter=tighter,
        most_pages=most_pages(cards[0]) + 1,
    )


def _one_card(sheets: Sequence[SheetData], family: str) -> tuple[SheetData, ...]:
    """The sheets with the family's name, and with title and revision only where they are those of all."""
    parts = [sheet.part for sheet in sheets]
    title, revision = (
        told[0] if len(set(told)) == 1 else ""
        for told in ([part.title for part in parts], [part.revision for part in parts])
    )
    return tuple(
        replace(sheet, part=replace(sheet.part, name=family, title=title, revision=revision)) for sheet in sheets
    )


def _texts(
    sheets: Sequence[SheetData], names: Sequence[str], identity: Identity, settings: Printing, short_mm: float
) -> Iterator[str]:
    stands = _stands(sheets, names, wording_of(sheets[0], settings))
    layout = layout_of(sheets[0], stands, identity, settings, short_mm=short_mm)
    for sheet in sheets:
        yield html_of(sheet, identity, settings, record=None, short_mm=short_mm, layout=layout)


def _stands(sheets: Sequence[SheetData], names: Sequence[str], wording: Wording) -> list[list[str]]:
    """Of each pair where its stations stand, as it will be said beside it: named where it is not the same for all."""
    found = []
    for of_sizes in zip(*(stand_lines(sheet, wording) for sheet in sheets), strict=True):
        told = list(dict.fromkeys(line for lines in of_sizes for line in lines))
        common = all(lines == of_sizes[0] for lines in of_sizes)
        named = [
            f"{', '.join(name for name, lines in zip(names, of_sizes, strict=True) if line in lines)}: {line}"
            for line in told
        ]
        found.append(told if common else named[:MOST_NAMED])
    return found


def _parted(text: str) -> list[tuple[tuple[str, ...], str]]:
    """The pieces of a page that are no lines of words, each with the lines before it."""
    lines: list[str] = []
    parted = []
    for piece in _PIECE.findall(text):
        if re.match("<p[ >]", piece):
            lines.append(piece)
        else:
            parted.append((tuple(lines), piece))
            lines = []
    return parted


def _shape(text: str) -> tuple[str, ...]:
    found = ((piece, _TAG.match(piece)) for _, piece in _parted(text))
    return tuple(tag.group() if tag else "" for _, tag in found)


def _merged(
    texts: Iterator[str], names: Sequence[str], cards_differ: Sequence[tuple[str, ...]], wording: Wording
) -> str:
    """The page of the first size with what differs taken to the table behind it."""
    by = By(names, f'<em class="by">{wording.word("sizes.table")}</em>')
    found = _Found(frozenset((wording.word("head.quantity"), wording.word("blank.size"))))
    found.lines.update(dict.fromkeys((("job", each) for each in cards_differ), False))
    out: list[str] = []
    for stand in zip(*map(_parted, texts), strict=True):
        lines, pieces = [each[0] for each in stand], [each[1] for each in stand]
        for line in merged_lines(lines, by):
            out.append(line.shown)
            found.lines.update(dict.fromkeys(((found.place, each) for each in line.tabled), line.large))
            for label, values in line.figures:
                found.column(label, values)
        first = pieces[0]
        if first.startswith("<svg"):
            out.append(_picture(pieces))
        elif first.startswith("<"):
            found.meet(first)
            if first.startswith('<div class="row pictures"'):
                told = wording.word("sizes.told", count=str(len(names)))
                out.append(f'<p class="strong">{told} {wording.word("sizes.drawn", size=names[0])}</p>')
            out.append(first)
        else:
            shown = found.text([piece.strip() for piece in pieces])
            out.append(f"{shown or by.mark}{first[len(first.rstrip()) :]}")
    return _with_table("".join(out), found, names, wording)


def _picture(pieces: Sequence[str]) -> str:
    """The first size's picture; of its words only those that stand at the same place in all sizes' pictures."""
    told = [[match[1] for match in _WORDS.findall(piece)] for piece in pieces]
    if len({len(each) for each in told}) == 1:
        same = iter([len(set(each)) == 1 for each in zip(*told, strict=True)])
    else:
        same = iter([not any(map(str.isdigit, words)) for words in told[0]])

    def put(match: re.Match[str]) -> str:
        kept = match.group(2) if next(same) else "" if match.group(1) == "<title>" else PICTURE_MARK
        return f"{match.group(1)}{kept}{match.group(3)}"

    return _WORDS.sub(put, pieces[0])


def _with_table(text: str, found: _Found, names: Sequence[str], wording: Wording) -> str:
    """The page with the table of sizes behind it."""
    filled = template("sizes.html").render(
        names=names,
        w=wording.word,
        tables=[
            (_place_words(place, wording), [column.shown for column in part], False)
            for place, columns in found.columns.items()
            for part in _chunks(columns)
        ]
        + [(wording.word("sizes.record"), [column.shown for column in part], True) for part in _chunks(found.measured)],
        lines=[
            (_place_words(place, wording), _marked(line_words(values, names)), large)
            for (place, values), large in found.lines.items()
        ],
    )
    style, body = filled.split("<!-- body -->")
    return text.replace("</head>", f"{style}</head>", 1).replace("</body>", f"{body}</body>", 1)


def _chunks(columns: Mapping[str, SizesColumn]) -> list[list[SizesColumn]]:
    found = list(columns.values())
    return [found[start : start + COLUMNS] for start in range(0, len(found), COLUMNS)]


def _marked(told: Sequence[tuple[str, str]]) -> list[tuple[str, Markup]]:
    return [(names, Markup(words)) for names, words in told]


def _place_words(place: str, wording: Wording) -> str:
    if place.startswith("step "):
        return wording.word("sizes.step", step=place[5:])
    return wording.word("sizes.job" if place == "job" else "section.first-piece")
