"""A picture made so high, or what it shows so small, that all its labels find a place."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import wraps
from itertools import chain
from typing import Concatenate, ParamSpec, TypeAlias

from flangewise.drawing.items import Drawing, text_width_mm
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

_Given = ParamSpec("_Given")
Built: TypeAlias = tuple[Drawing, Sequence[Label]]
"""A picture without its labels, and these."""


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
        high_mm: float = given["height_mm"]  # type: ignore[assignment]
        return _first_that_fits(
            build(high_mm * share, *args, **{**given, "height_mm": high_mm * (1 - share)})  # type: ignore[arg-type]
            for share in KEPT_SHARES
        )

    return picture


def _first_that_fits(tries: Iterable[Built]) -> Drawing:
    """The first whose labels all find a place: as they are, broken into shorter lines, or with a table of some.

    Where many would stand far off what they name, a table is tried before that. What finds no place in any, and has no
    name that could stand for it, is written in smaller letters.
    """
    given: list[tuple[Bare, Sequence[Label]]] = []
    far_off: list[Drawing] = []
    for built in tries:
        # Scales go by steps: what is drawn no smaller than before is the same picture.
        if any((on.drawing, known) == built for on, known in given):
            continue
        on, labels = bare(built[0]), built[1]
        given.append((on, labels))
        for written in _ways(labels):
            drawing, homeless = place(on, written, whole=True)
            if not homeless and _is_clear(drawing, on.drawing, written):
                return drawing
            far_off += [drawing] * (not homeless)
    tabled = (drawing for each in given for drawing in _with_table(*each))
    return next(chain(tabled, far_off), None) or _in_smaller_letters(given)


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
        drawing, homeless = place(on, [*table, *named])
        if not homeless:
            yield drawing
        more = [each for each in labels if each.name and each in homeless and each not in tabled]
        if not more:
            return
        tabled = [each for each in labels if each in tabled or each in more]


def _in_smaller_letters(given: Sequence[tuple[Bare, Sequence[Label]]]) -> Drawing:
    """The picture where most labels find a place, the others in it in smaller letters."""
    tried = (place(on, written) for on, labels in given for written in _ways(labels))
    drawing, homeless = min(tried, key=lambda found: len(found[1]))
    for share, breaks in ((share, breaks) for share in SMALLER for breaks in (False, True)):
        written = [_broken(each) if breaks else each for each in homeless]
        drawing, left = place(drawing, [_sized(each, share) for each in written])
        homeless = tuple(each for each in homeless if any(_is_of(other, each) for other in left))
    # Where some still have no place, all are tried in smaller letters.
    smaller = ((on, [_sized(each, min(SMALLER)) for each in labels]) for on, labels in given if homeless)
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
