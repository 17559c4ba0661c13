"""A picture made so high, or what it shows so small, that all its labels find a place."""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import partial, wraps
from itertools import chain
from typing import Concatenate, ParamSpec, TypeAlias, cast

from flangewise.drawing.ink import bounds
from flangewise.drawing.items import TOP_ACCENTED, Box, Drawing, Line, Text, text_width_mm
from flangewise.drawing.place import ABOVE, BELOW, Bare, Label, bare, place

GROWTH_MM = (0.0, 6.0, 14.0, 26.0, 44.0, 70.0)
"""How much higher the picture may become, tried in turn."""
KEPT_SHARES = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6)
"""How much of a height that is given is kept for labels, tried in turn."""
SMALLER = (0.8, 0.65)
"""Shares of its size in which a label is written that has no place in its own: better small than not at all."""
MANY = 6
"""So many labels with names are thought a crowd, of which no more than a third should stand far off."""
ROWS = 4
"""How many rows of a table of labels stand in one block."""
PITCH = 1.2
"""From one row of a table to the next, in em."""
BETWEEN_MM = 3.0
"""Between the columns of a table, and between it and the picture."""
TRIED = 4
"""Of a picture that can have a table beside it no more sizes are tried without one: it would become small."""
NAMED_SHARES = (-0.5, -0.3, -0.15, 0.0, 0.15, 0.3, 0.45, 0.6)
"""The same where only names stand in the picture, which need less room than is left around it."""
LONGEST_ROW = 0.6
"""A row of a table is no longer than this share of the picture's width, if it can be broken."""
COLUMNS_BELOW = (1, 2, 3, 4)

_Given = ParamSpec("_Given")
Built: TypeAlias = tuple[Drawing, Sequence[Label]]
"""A picture without its labels, and these."""
Sized: TypeAlias = Callable[[float, float, float], Built]
"""A picture so wide and high, with a share of its height kept for labels; below 0 so much larger is what is drawn."""


def with_room_for_labels(build: Callable[Concatenate[float, _Given], Built]) -> Callable[_Given, Drawing]:
    """Turns what builds a picture so many mm higher than wished into the picture at which all its labels fit first.

    If none is high enough, it is the least at which most fit; the labels left over are then written in smaller letters,
    or left out: words never cover lines.
    """

    @wraps(build)
    def picture(*args: _Given.args, **given: _Given.kwargs) -> Drawing:
        return _first_that_fits(build(growth_mm, *args, **given) for growth_mm in GROWTH_MM)

    return picture


def within(build: Callable[Concatenate[float, _Given], Built]) -> Callable[_Given, Drawing]:
    """The same at the height wished for: what is drawn gets smaller until all labels fit, and none is lost.

    What is built is told how much of its height is kept for labels; `height_mm` must be among what is given.
    """

    @wraps(build)
    def picture(*args: _Given.args, **given: _Given.kwargs) -> Drawing:
        def sized(width_mm: float, high_mm: float, share: float) -> Built:
            room = {**given, "width_mm": width_mm, "height_mm": high_mm * (1 - share)}
            return build(high_mm * share, *args, **room)  # type: ignore[arg-type]

        width_mm, high_mm = cast(float, given["width_mm"]), cast(float, given["height_mm"])
        return _first_that_fits((sized(width_mm, high_mm, share) for share in KEPT_SHARES), sized)

    return picture


def _first_that_fits(tries: Iterable[Built], sized: Sized | None = None) -> Drawing:
    """The first whose labels all find a place: as they are, broken into shorter lines, or with a table of some.

    Where many would stand far off what they name, a table is tried before that; where most have names, and the picture
    can be `sized`, a table of all stands beside it. What finds no place in any, and has no name that could stand for
    it, is written in smaller letters.
    """
    given: list[tuple[Bare, Sequence[Label]]] = []
    far_off: list[Drawing] = []
    has_table = False
    left = iter(tries)
    for built in left:
        # Scales go by steps: what is drawn no smaller than before is the same picture.
        if any((on.drawing, known) == built for on, known in given):
            continue
        labels = built[1]
        has_table = sized is not None and 2 * sum(bool(each.name) for each in labels) > len(labels)
        given.append((bare(built[0]), labels))
        found = _as_given(*given[-1], far_off, crossing=not has_table)
        if found is not None:
            return found
        if has_table and len(given) == TRIED:
            break
    whole, labels = given[0][0].drawing, given[0][1]
    if sized is not None and has_table:
        tabled = chain(
            (_table_beside(whole, labels, sized),),
            far_off,
            # Where there is no room for a table either, rather a small picture than small letters.
            (_as_given(bare(drawn), words, far_off, crossing=False) for drawn, words in left),
        )
    else:
        tabled = chain.from_iterable(_with_table(*each) for each in given)
    return next(filter(None, chain(tabled, far_off)), None) or _in_smaller_letters(given)


def _as_given(on: Bare, labels: Sequence[Label], far_off: list[Drawing], *, crossing: bool) -> Drawing | None:
    """The picture with its labels as they are or broken, if few stand far off; one where many do is added to those."""
    for written in _ways(labels):
        drawing, unplaced = place(on, written, whole=True, crossing=crossing)
        if not unplaced and _is_clear(drawing, on.drawing, written):
            return drawing
        far_off += [drawing] * (not unplaced)
    return None


def _ways(labels: Sequence[Label]) -> Iterator[Sequence[Label]]:
    """Labels as they are, and broken into shorter lines where that changes any."""
    yield labels
    broken = [_broken(each) for each in labels]
    if broken != list(labels):
        yield broken


def _is_clear(drawing: Drawing, bare: Drawing, labels: Sequence[Label]) -> bool:
    """Whether few labels stand far off, with a leader, where many have a name that could stand for them."""
    leaders = (len(drawing.lines()) - len(bare.lines())) // 2
    named = sum(bool(each.name) for each in labels)
    return named < MANY or leaders * 3 <= named


def _table_beside(whole: Drawing, labels: Sequence[Label], sized: Sized) -> Drawing | None:
    """The picture with names in their places and a table of all their words to its right or below.

    Of the ways to set the table, in one column or more, that in which what is drawn becomes largest, if one can be with
    no more than a third of the names far off; None where they find no place in any.
    """
    best: dict[bool, tuple[float, Drawing | None]] = {True: (0.0, None), False: (0.0, None)}
    tables = []
    for right_mm, low_mm, texts in _tables(whole, [each for each in labels if each.name]):
        first = sized(right_mm, low_mm, NAMED_SHARES[0])
        tables.append((_extent_mm(first[0].lines()), first, partial(sized, right_mm, low_mm), texts))
    # That which leaves most room goes first: the others need then not be tried at their smaller sizes.
    for extent, first, at_share, texts in sorted(tables, key=lambda each: -each[0][0]):
        last_mm = math.inf
        for share in NAMED_SHARES:
            drawn, words = first if share == NAMED_SHARES[0] else at_share(share)
            large_mm, spots = extent if share == NAMED_SHARES[0] else _extent_mm(drawn.lines())
            if large_mm <= best[True][0]:
                break
            if large_mm >= last_mm or not drawn.frame.holds(spots):
                continue
            last_mm = large_mm
            named = [replace(each, lines=(each.name,)) if each.name else each for each in words]
            drawing, unplaced = place(drawn, named, whole=True)
            clear = not unplaced and _is_clear(drawing, drawn, words)
            if not unplaced and large_mm > best[clear][0]:
                size = {"width_mm": whole.width_mm, "height_mm": whole.height_mm}
                best[clear] = large_mm, replace(drawing, **size).adding(texts)  # type: ignore[arg-type]
            if clear:
                break
    return best[True][1] or best[False][1]


def _extent_mm(lines: Sequence[Line]) -> tuple[float, Box]:
    """How large the black shapes among lines are, width and height together; and the rectangle of all."""
    shapes = [spot for line in lines if line.fill == "black" for spot in line.points_mm]
    box = bounds(shapes or (spot for line in lines for spot in line.points_mm))
    return box.width_mm + box.height_mm, bounds(spot for line in lines for spot in line.points_mm)


def _by_lines(labels: Sequence[Label]) -> tuple[list[Label], list[Label]]:
    """Labels of more lines than one, and those of one."""
    return [each for each in labels if len(each.lines) > 1], [each for each in labels if len(each.lines) == 1]


def _tables(whole: Drawing, tabled: Sequence[Label]) -> Iterator[tuple[float, float, list[Text]]]:
    """Ways to set a table: what is left of the picture's width and height, and the writing."""
    size_mm, bold = tabled[0].size_mm, tabled[0].bold

    def rows_of(labels: Iterable[Label]) -> list[str]:
        """The labels in a row each; one too long for half the picture as it is broken already."""
        joined = ((" ".join(each.lines), each) for each in labels)
        most_mm = LONGEST_ROW * whole.width_mm
        return [
            row
            for words, each in joined
            for row in ((words,) if text_width_mm(words, size_mm, bold=bold) < most_mm else each.lines)
        ]

    rows = rows_of(tabled)
    kinds = [rows_of(kind) for kind in _by_lines(tabled) if kind]
    in_turn = {count: [rows_of(tabled[start::count]) for start in range(count)] for count in COLUMNS_BELOW}

    def set_at(columns: Sequence[Sequence[str]], left_mm: float, top_mm: float) -> Iterator[Text]:
        for column in columns:
            for place_of, row in enumerate(column):
                yield Text((left_mm, top_mm + (place_of * PITCH + TOP_ACCENTED) * size_mm), row, size_mm, bold)
            left_mm += wide_mm_of(column) + BETWEEN_MM

    def wide_mm_of(column: Sequence[str]) -> float:
        return max(text_width_mm(row, size_mm, bold=bold) for row in column)

    for columns in ([rows], kinds):
        wide_mm = sum(wide_mm_of(column) + BETWEEN_MM for column in columns)
        high_mm = max(len(column) for column in columns) * PITCH * size_mm
        left_mm = whole.width_mm - wide_mm
        if high_mm <= whole.height_mm and left_mm > 0.2 * whole.width_mm:
            texts = list(set_at(columns, left_mm + BETWEEN_MM, (whole.height_mm - high_mm) / 2))
            yield left_mm, whole.height_mm, texts
    for columns in in_turn.values():
        wide_mm = sum(wide_mm_of(column) + BETWEEN_MM for column in columns if column) - BETWEEN_MM
        high_mm = max(map(len, columns)) * PITCH * size_mm + 1.0
        left_mm = whole.height_mm - high_mm
        if wide_mm <= whole.width_mm and left_mm > 0.2 * whole.height_mm and all(columns):
            yield whole.width_mm, left_mm, list(set_at(columns, (whole.width_mm - wide_mm) / 2, left_mm + 1.0))


def _with_table(on: Bare, labels: Sequence[Label]) -> Iterator[Drawing]:
    """The picture in which the names of some labels stand in their places, their words in a table beside; if it fits.

    Those go into the table that find no place otherwise, and more until the rest fits.
    """
    tabled: list[Label] = []
    while True:
        # The table needs most room, and is put first.
        rows = [" ".join(each.lines) for each in tabled]
        blocks = [tuple(rows[start : start + ROWS]) for start in range(0, len(rows), ROWS)]
        table = [
            replace(tabled[0], lines=block, at_mm=on.drawing.frame.centre_mm, prefer=(BELOW, ABOVE), led=False)
            for block in blocks
        ]
        named = (replace(each, lines=(each.name,)) if each in tabled else each for each in labels)
        drawing, unplaced = place(on, [*table, *named])
        if not unplaced:
            yield drawing
        more = [each for each in labels if each.name and each in unplaced and each not in tabled]
        if not more:
            return
        tabled = [each for each in labels if each in tabled or each in more]


def _in_smaller_letters(given: Sequence[tuple[Bare, Sequence[Label]]]) -> Drawing:
    """The picture where most labels find a place, the others in it in smaller letters."""
    tried = (place(on, written) for on, labels in given for written in _ways(labels))
    drawing, unplaced = min(tried, key=lambda found: len(found[1]))
    for share, breaks in ((share, breaks) for share in SMALLER for breaks in (False, True)):
        written = [_broken(each) if breaks else each for each in unplaced]
        drawing, left = place(drawing, [_sized(each, share) for each in written])
        unplaced = tuple(each for each in unplaced if any(_is_of(other, each) for other in left))
    # Where some still have no place, all are tried in smaller letters.
    smaller = ((on, [_sized(each, min(SMALLER)) for each in labels]) for on, labels in given if unplaced)
    every = (place(*each, whole=True) for each in smaller)
    return next((other for other, left in every if not left), drawing)


def _sized(each: Label, share: float) -> Label:
    return replace(each, size_mm=each.size_mm * share)


def _is_of(other: Label, each: Label) -> bool:
    """Whether a label is another one broken and in smaller letters."""
    return (other.at_mm, " ".join(other.lines)) == (each.at_mm, " ".join(each.lines))


def _broken(each: Label) -> Label:
    """The label with its longest line broken in two before its last word, where it has three words or more."""
    place_of = max(range(len(each.lines)), key=lambda row: text_width_mm(each.lines[row], each.size_mm, bold=each.bold))
    first, _, last = each.lines[place_of].rpartition(" ")
    if " " not in first:
        return each
    return replace(each, lines=(*each.lines[:place_of], first, last, *each.lines[place_of + 1 :]))
