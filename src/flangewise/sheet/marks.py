"""The two marks that are never mixed up: a letter in a ring for a bend, a number in a square for a step."""

from __future__ import annotations

import re

from flangewise import drawing as draw
from flangewise.sheet.data import Point
from flangewise.words import Phrase, Value

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Without I and O, which are read as figures."""
OF_BENDS = ("place.bend", "sheet.measure.hem", "sheet.measure.offset")
"""Phrases of which the number is a bend's."""


def bend_mark(label: str | int) -> str:
    """The letter of a bend or of a bend line: 1 is A, 3b is Cb; after Z comes A2.

    >>> bend_mark(1), bend_mark("3b"), bend_mark(25)
    ('A', 'Cb', 'A2')
    """
    number, tail = re.fullmatch(r"(\d+)(\D*)", str(label)).groups()  # type: ignore[union-attr]
    turn, place = divmod(int(number) - 1, len(LETTERS))
    return LETTERS[place] + (str(turn + 1) if turn else "") + tail


def bend_marks(labels: str) -> str:
    """The letters for several bends written with commas between.

    >>> bend_marks("1, 3")
    'A, C'
    """
    return re.sub(r"\d+[ab]?", lambda found: bend_mark(found[0]), labels)


def with_marks(told: Phrase) -> Phrase:
    """A phrase in which every bend goes by its letter: a sheet never puts the number of a bend beside one of a step."""
    own = {"bend", "bends"} | ({"number"} if told.code in OF_BENDS else set())
    return Phrase(told.code, tuple((name, _marked(name in own, value)) for name, value in told.values))


def _marked(own: bool, value: Value) -> Value:
    if isinstance(value, Phrase):
        return with_marks(value)
    if isinstance(value, tuple):
        return tuple(_marked(own, each) for each in value)
    return bend_marks(str(value)) if own and isinstance(value, (int, str)) and str(value)[:1].isdigit() else value


def ringed(letter: str, centre: Point, *, size_mm: float = 3.6) -> tuple[draw.Item, ...]:
    """A letter in a ring, white under it, so that it can stand on lines."""
    radius_mm = max(size_mm * 0.75, draw.text_width_mm(letter, size_mm, bold=True) / 2 + 0.8)
    ring = draw.arc_points(centre, radius_mm, from_deg=0, to_deg=360)[:-1]
    base = (centre[0], centre[1] + size_mm * 0.36)
    return draw.Line(ring, draw.THIN, closed=True, fill="white"), draw.Text(base, letter, size_mm, True, "middle")
