"""Labels put where there is room: beside what they name if possible, else further off with a leader.

Every label gets the first free place of a fixed list, nearest first, so the same picture always comes out the same.
The words of a dimension, a length with its arrows, are such a label. Arrows of a short dimension stand outside and
point inward. Source: common practice (ISO 129-1, from memory).
"""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import wraps
from itertools import pairwise
from typing import Concatenate, ParamSpec, TypeAlias

import numpy as np
from numpy.typing import NDArray

from flangewise.drawing.clip import clipped
from flangewise.drawing.ink import Ink, clean
from flangewise.drawing.items import THIN, Box, Drawing, Line, Point, Text, between, moved, text_width_mm, top_of_text
from flangewise.drawing.marks import HEAD_MM, arrow, circle, head, towards

LABEL_MM = 3.5
"""Usual size (em) of words in a picture: read at arm's length and a half, height = distance / 200."""
GAP_MM = 0.8
"""Air kept around every text."""
LEADER_FROM_MM = 3.0
"""A label further than this from what it names gets a leader."""
GROWTH_MM = (0.0, 6.0, 14.0, 26.0, 44.0, 70.0)
"""How much higher the picture may become, tried in turn."""
KEPT_SHARES = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6)
"""How much of a height that is given is kept for labels, tried in turn."""
ORDERS = 3
"""How many orders of the labels are tried."""
SMALLER = (0.8, 0.65)
"""Shares of its size in which a label is written that has no place in its own: better small than not at all."""
EXTEND_MM = 1.2
"""How far an extension line runs past the dimension line."""
CLEAR_MM = 0.8
"""Gap between the part and the start of an extension line."""

_Given = ParamSpec("_Given")
_ANGLES = [math.radians(15 * step) for step in range(24)]
_COMPASS = tuple((round(math.cos(angle), 6), round(math.sin(angle), 6)) for angle in _ANGLES)
ABOVE, BELOW, RIGHT, LEFT = (0.0, -1.0), (0.0, 1.0), (1.0, 0.0), (-1.0, 0.0)


@dataclass(frozen=True)
class Label:
    """Words for a point of the picture, in one line or more.

    `prefer` are directions to try first, best first. `led` false forbids a leader, for words that name no single point:
    they may then stand on it, which is tried first.
    """

    lines: tuple[str, ...]
    at_mm: Point
    size_mm: float = LABEL_MM
    bold: bool = False
    prefer: tuple[Point, ...] = (ABOVE, BELOW, RIGHT, LEFT)
    gap_mm: float = GAP_MM
    led: bool = True

    @property
    def width_mm(self) -> float:
        """Width of the longest line."""
        return max(text_width_mm(line, self.size_mm, bold=self.bold) for line in self.lines)

    @property
    def height_mm(self) -> float:
        """From the top of the first line's letters to the bottom of the last's."""
        return self.size_mm * (top_of_text(self.lines[0]) + 0.24 + 1.2 * (len(self.lines) - 1))


Built: TypeAlias = tuple[Drawing, Sequence[Label]]
"""A picture without its labels, and these."""


def place(drawing: Drawing, labels: Iterable[Label]) -> tuple[Drawing, tuple[Label, ...]]:
    """The drawing with its labels, and the labels for which no room was left.

    No label placed overlaps a line, a text or the frame. Leaders cross lines where they must, never texts.
    """
    taken = [text.box for text in drawing.texts()]
    ink = clean(drawing.labels_in or drawing.frame).with_lines(drawing.lines()).with_boxes(taken)
    homeless: list[Label] = []
    waiting = list(labels)
    while waiting:
        each = waiting.pop(0)
        # What another label names must not be covered: it would find no place, for its leader keeps off all words.
        box = _home(each, ink, taken, [_tip(other) for other in waiting if other.led])
        if box is None:
            homeless.append(each)
            continue
        leader, texts = _leader(each, box), _texts(each, box)
        drawing = drawing.adding((*leader, *texts))
        ink = ink.with_lines(leader).with_boxes((box,))
        taken.append(box)
    return drawing, tuple(homeless)


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
    """The first whose labels all find a place, as they are or broken into shorter lines; else the one where most do.

    What then has no place is broken and written in smaller letters.
    """
    best: tuple[Drawing, tuple[Label, ...]] | None = None
    given = list(tries)
    for broken in (False, True):
        for bare, labels in given:
            order = [_broken(each) for each in labels] if broken else list(labels)
            for _ in range(ORDERS):
                drawing, homeless = place(bare, order)
                if not homeless:
                    return drawing
                if best is None or len(homeless) < len(best[1]):
                    best = drawing, homeless
                # Those that found no place go first: the others have more choice.
                order = [*homeless, *(each for each in order if each not in homeless)]
    assert best is not None
    drawing, homeless = best
    for share, broken in ((share, broken) for share in SMALLER for broken in (False, True)):
        written = [_broken(each) if broken else each for each in homeless]
        drawing, left = place(drawing, [_sized(each, share) for each in written])
        homeless = tuple(each for each in homeless if any(_is_of(other, each) for other in left))
    # Where some still have no place, all are tried in smaller letters.
    every = (place(bare, [_sized(each, min(SMALLER)) for each in labels]) for bare, labels in given if homeless)
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


def _home(each: Label, ink: Ink, taken: Sequence[Box], tips: Sequence[Box]) -> Box | None:
    places = _candidates(each, ink.frame)
    air_mm = GAP_MM * 0.75
    free = ink.free_places(places + np.array([-air_mm, -air_mm, air_mm, air_mm]))
    homes = (Box(*place) for place in places[free].tolist())
    clear = (box for box in homes if _leader_clear(each, box, taken))
    return next((box for box in clear if not any(box.meets(tip) for tip in tips)), None)


def _candidates(each: Label, frame: Box) -> NDArray[np.float64]:
    """Places for the label, rows of left, top, right, bottom: ring by ring outward, the preferred directions first."""
    half = np.array([each.width_mm / 2, each.height_mm / 2])
    ways = np.array(list(dict.fromkeys((*each.prefer, *_COMPASS))))
    stretch = 1 / np.abs(ways).max(axis=1, keepdims=True)
    off_mm = np.array(list(_rings(math.hypot(frame.width_mm, frame.height_mm))))[:, None, None]
    centres = (np.array(each.at_mm) + ways * (off_mm + each.gap_mm) + ways * stretch * half).reshape(-1, 2)
    if not each.led:
        centres = np.concatenate([[each.at_mm], centres])
    return np.concatenate([centres - half, centres + half], axis=1)


def _rings(reach_mm: float) -> Iterator[float]:
    off_mm = 0.0
    while off_mm < reach_mm:
        yield off_mm
        off_mm += max(0.7, off_mm * 0.12)


def _leader(each: Label, box: Box) -> tuple[Line, ...]:
    """From the box's edge to what the label names, with a dot; nothing where it stands close by."""
    around, (right, down) = box.grown(0.4), each.at_mm
    start = (min(max(right, around.left_mm), around.right_mm), min(max(down, around.top_mm), around.bottom_mm))
    if not each.led or math.dist(start, each.at_mm) <= LEADER_FROM_MM:
        return ()
    return (Line((start, each.at_mm), THIN), replace(circle(each.at_mm, 0.45, pen=None), fill="black"))


def _tip(each: Label) -> Box:
    """What a label names, with the dot of a leader on it."""
    return Box(*each.at_mm, *each.at_mm).grown(0.6)


def _leader_clear(each: Label, box: Box, taken: Sequence[Box]) -> bool:
    """Whether the leader, its dot included, keeps off all texts."""
    tip = _tip(each)
    lines = [line.points_mm for line in _leader(each, box)[:1]]
    return not any(text.meets(tip) or clipped(line, text.grown(0.3), closed=False) for line in lines for text in taken)


def _texts(each: Label, box: Box) -> tuple[Text, ...]:
    middle = box.centre_mm[0]
    first = box.top_mm + top_of_text(each.lines[0]) * each.size_mm
    spots = ((middle, first + row * 1.2 * each.size_mm) for row in range(len(each.lines)))
    texts = zip(spots, each.lines, strict=True)
    return tuple(Text(spot, line, each.size_mm, each.bold, "middle") for spot, line in texts)


@dataclass(frozen=True)
class Dimension:
    """The strokes of one dimension and the label that belongs to it."""

    lines: tuple[Line, ...]
    label: Label


def linear(start: Point, end: Point, *, off_mm: float, words: str) -> Dimension:
    """The distance between two points, its line laid off sideways: to the left of start -> end as seen, for off_mm > 0.

    Edges: two points in one place give a dimension without direction, drawn level.
    """
    right, down, length_mm = towards(start, end)
    along, side, sense = (right, down), (down, -right), math.copysign(1, off_mm)
    ends = (moved(start, side, off_mm), moved(end, side, off_mm))
    reach = (CLEAR_MM * sense, off_mm + EXTEND_MM * sense)
    extensions = (Line(tuple(moved(foot, side, far) for far in reach), THIN) for foot in (start, end))
    prefer = (_eased(side, sense), _eased(side, -sense))
    short = length_mm < 3 * HEAD_MM
    lines = (*extensions, *(_pointed_at(ends, along) if short else arrow(*ends, both=True)))
    if text_width_mm(words, LABEL_MM) + 1.0 > length_mm and abs(right) > abs(down):
        # Too wide to stand over its own line: it goes beyond the end, along the line.
        beyond = moved(ends[1], along, 2 * HEAD_MM if short else EXTEND_MM)
        return Dimension(lines, Label((words,), beyond, prefer=(_eased(along, 1.0), *prefer)))
    return Dimension(lines, Label((words,), between(*ends), prefer=prefer))


def crossed(size: Dimension, ink: Ink) -> int:
    """How much of a dimension's strokes runs over what is drawn."""
    strokes = [stroke for line in size.lines for stroke in pairwise(line.points_mm)]
    spots = (between(here, there, step / 20) for here, there in strokes for step in range(21))
    return sum(not ink.free(Box(x, y, x, y)) for x, y in spots)


def _eased(direction: Point, sense: float) -> Point:
    """No negative zeros and no dust: directions are compared as they stand."""
    return (round(direction[0] * sense, 6) + 0.0, round(direction[1] * sense, 6) + 0.0)


def _pointed_at(ends: tuple[Point, Point], along: Point) -> tuple[Line, ...]:
    """A short dimension: its arrows stand outside and point inward."""
    outer = (moved(ends[0], along, -2 * HEAD_MM), moved(ends[1], along, 2 * HEAD_MM))
    return (Line(outer, THIN), head(ends[0], outer[0]), head(ends[1], outer[1]))


def lettered(dimension: Dimension, *, size_mm: float, bold: bool = False) -> Dimension:
    """The dimension with its label in another size."""
    return replace(dimension, label=replace(dimension.label, size_mm=size_mm, bold=bold))
