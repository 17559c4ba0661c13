"""Labels put where there is room: beside what they name if possible, else further off with a leader.

Every label has a list of places, nearest first, of which what is drawn leaves some free. It gets the first that no
other label has taken, or one that another label can leave for a place of its own. The same picture always comes out the
same.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from flangewise.drawing.ink import CELL_MM, clean
from flangewise.drawing.items import THIN, Box, Drawing, Line, Point, Text, text_width_mm, top_of_text
from flangewise.drawing.marks import circle

LABEL_MM = 3.5
"""Usual size (em) of words in a picture: read at arm's length and a half, height = distance / 200."""
GAP_MM = 0.8
"""Air kept around every text."""
AIR_MM = GAP_MM * 0.75
"""Air between a text and any other ink."""
LEADER_AIR_MM = 0.45
"""Air between a leader and a text."""
LEADER_FROM_MM = 3.0
"""A label further than this from what it names gets a leader."""
TIP_MM, DOT_MM = 0.6, 0.45
"""Half the room of what a label names, and the radius of a leader's dot on it."""
ORDERS = 3
"""How many orders of the labels are tried."""
MOVES = 24
"""How many places are looked at for which another label would have to move."""
FILLED = 0.7
"""More of the free room than this share is never filled with labels."""

Rows = NDArray[np.float64]
Mask = NDArray[np.bool_]
_ANGLES = [math.radians(15 * step) for step in range(24)]
_COMPASS = tuple((round(math.cos(angle), 6), round(math.sin(angle), 6)) for angle in _ANGLES)
ABOVE, BELOW, RIGHT, LEFT = (0.0, -1.0), (0.0, 1.0), (1.0, 0.0), (-1.0, 0.0)


@dataclass(frozen=True)
class Label:
    """Words for a point of the picture, in one line or more.

    `prefer` are directions to try first, best first. `led` false forbids a leader, for words that name no single point:
    they may then stand on it, which is tried first. `name` may stand there alone where the words go into a table.
    """

    lines: tuple[str, ...]
    at_mm: Point
    size_mm: float = LABEL_MM
    bold: bool = False
    prefer: tuple[Point, ...] = (ABOVE, BELOW, RIGHT, LEFT)
    gap_mm: float = GAP_MM
    led: bool = True
    name: str = ""

    @property
    def width_mm(self) -> float:
        """Width of the longest line."""
        return max(text_width_mm(line, self.size_mm, bold=self.bold) for line in self.lines)

    @property
    def height_mm(self) -> float:
        """From the top of the first line's letters to the bottom of the last's."""
        return self.size_mm * (top_of_text(self.lines[0]) + 0.24 + 1.2 * (len(self.lines) - 1))


def place(drawing: Drawing, labels: Iterable[Label], *, whole: bool = False) -> tuple[Drawing, tuple[Label, ...]]:
    """The drawing with its labels, and the labels for which no room was left; `whole`: all of them, or none is drawn.

    No label placed overlaps a line, a text or the frame. Leaders cross lines where they must, never texts; each other,
    and what other labels name, only where a label would be lost otherwise.
    """
    given = list(labels)
    sites = _sites(drawing, given) if given else None
    homes = _homes(sites, whole=whole) if sites is not None else {}
    homeless = tuple(each for number, each in enumerate(given) if number not in homes)
    if sites is not None and not (whole and homeless):
        # Drawn in the order of the labels, whatever the order they were placed in.
        for number, row in sorted(homes.items()):
            each, box = given[number], Box(*sites.boxes[row].tolist())
            drawing = drawing.adding((*_leader(each, box), *_texts(each, box)))
    return drawing, homeless


@dataclass(frozen=True)
class _Sites:
    """All places that what is drawn leaves free, one a row, the best of each label first.

    `spans` are the rows of each label; `airy` the boxes with the air around them; `led` whether a leader goes from
    `starts` to `tips`; `dots` the room of what is named; `covers` whether it lies on what another label names.
    """

    boxes: Rows
    airy: Rows
    starts: Rows
    tips: Rows
    dots: Rows
    led: Mask
    covers: Mask
    spans: tuple[slice, ...]
    room_mm2: float
    known: dict[tuple[int, bool], Mask] = field(default_factory=dict)

    @property
    def crowded(self) -> bool:
        """Whether the labels take more of the room than can be filled with them."""
        firsts = [self.airy[span.start] for span in self.spans if span.start < span.stop]
        taken_mm2 = sum(float((box[2] - box[0]) * (box[3] - box[1])) for box in firsts)
        return len(firsts) < len(self.spans) or taken_mm2 > FILLED * self.room_mm2

    def ruled_out(self, row: int, *, strict: bool) -> Mask:
        """Which places cannot be taken along with this one; reckoned once, for it is asked again in other orders."""
        if (row, strict) not in self.known:
            self.known[row, strict] = self.ruled_out_of(slice(None), row, strict=strict)
        return self.known[row, strict]

    def ruled_out_of(self, span: slice, row: int, *, strict: bool) -> Mask:
        """The same of some places only."""
        box, boxes, led = self.boxes[row], self.boxes[span], self.led[span]
        starts, tips = self.starts[span], self.tips[span]
        out = _meet(self.airy[span], box)
        if led.any():
            out |= led & (_cross(starts, tips, _grown(box, LEADER_AIR_MM)) | _meet(self.dots[span], box))
        if self.led[row]:
            start, tip = self.starts[row], self.tips[row]
            out |= _cross(start, tip, _grown(boxes, LEADER_AIR_MM)) | _meet(boxes, self.dots[row])
            if strict:
                out |= led & _cut(start, tip, starts, tips)
        return out


def _homes(sites: _Sites, *, whole: bool) -> dict[int, int]:
    """The row of each label that finds a place; of `whole` all or none."""
    homes: dict[int, int] = {}
    count = len(sites.spans)
    hopeless = [number for number, span in enumerate(sites.spans) if span.start == span.stop]
    if whole and sites.crowded:
        return homes
    for strict in (True, False)[sites.crowded :]:
        order = [number for number in range(count) if number not in hopeless]
        for _ in range(ORDERS):
            found, homeless = _Settled(sites, strict).with_labels(order, whole=whole)
            if len(found) > len(homes):
                homes = found
            if not homeless:
                return homes
            # Those that found no place go first: the others have more choice.
            order = [*homeless, *(each for each in order if each not in homeless)]
    return {} if whole else homes


@dataclass
class _Settled:
    """Labels in their places while more are placed: how often each place is ruled out, and by whom."""

    sites: _Sites
    strict: bool
    homes: dict[int, int] = field(default_factory=dict)
    out: dict[int, Mask] = field(default_factory=dict)

    def __post_init__(self) -> None:
        # What must not be taken at all counts as ruled out by two, for no one label could make room.
        self.times = self.sites.covers * (2 if self.strict else 0)

    def with_labels(self, order: Sequence[int], *, whole: bool) -> tuple[dict[int, int], list[int]]:
        """The row of each label that has found a place, and those that have not; of `whole` no more than the first."""
        homeless = []
        for label in order:
            span = self.sites.spans[label]
            row = _first(self.times[span] == 0)
            if row is not None:
                self._put(label, span.start + row)
            elif not self._makes_room(label):
                homeless.append(label)
                if whole:
                    break
        return self.homes, homeless

    def _put(self, label: int, row: int) -> None:
        if label in self.homes:
            self.times -= self.out[label]
        self.homes[label] = row
        self.out[label] = self.sites.ruled_out(row, strict=self.strict).copy()
        self.out[label][self.sites.spans[label]] = False
        self.times += self.out[label]

    def _makes_room(self, label: int) -> bool:
        """Whether it was put in a place that one other label alone rules out, that one having gone elsewhere."""
        span = self.sites.spans[label]
        for row in (np.flatnonzero(self.times[span] == 1)[:MOVES] + span.start).tolist():
            other = next(each for each, out in self.out.items() if out[row])
            theirs = self.sites.spans[other]
            free = self.times[theirs] == 0
            spare = _first(free & ~self.sites.ruled_out_of(theirs, row, strict=self.strict)) if free.any() else None
            if spare is not None:
                self._put(other, theirs.start + spare)
                self._put(label, row)
                return True
        return False


def _first(mask: Mask) -> int | None:
    place_of = int(mask.argmax()) if len(mask) else 0
    return place_of if mask[place_of : place_of + 1].any() else None


def _sites(drawing: Drawing, labels: Sequence[Label]) -> _Sites:
    """The places of all labels that touch neither ink nor frame, and whose leaders keep off the words drawn already."""
    written = [text.box for text in drawing.texts()]
    ink = clean(drawing.labels_in or drawing.frame).with_lines(drawing.lines()).with_boxes(written)
    every = [_candidates(each, ink.frame) for each in labels]
    boxes, owner = np.concatenate(every), np.repeat(np.arange(len(labels)), [len(each) for each in every])
    free = ink.free_places(_grown(boxes, AIR_MM))
    boxes, owner = boxes[free], owner[free]
    tips = np.array([each.at_mm for each in labels], dtype=float)[owner]
    around = _grown(boxes, 0.4)
    starts = np.clip(tips, around[:, :2], around[:, 2:])
    led = np.array([each.led for each in labels])[owner] & (np.hypot(*(starts - tips).T) > LEADER_FROM_MM)
    clear = np.ones(len(boxes), dtype=bool)
    for text in written:
        box = np.array([text.left_mm, text.top_mm, text.right_mm, text.bottom_mm])
        clear &= ~(led & (_cross(starts, tips, _grown(box, 0.3)) | _meet(_dots(tips), box)))
    boxes, owner, starts, tips, led = boxes[clear], owner[clear], starts[clear], tips[clear], led[clear]
    spots = _dots(np.array([each.at_mm for each in labels], dtype=float))
    named = (owner[:, None] != np.arange(len(labels))) & np.array([each.led for each in labels])
    covers: Mask = (_meet(boxes[:, None], spots) & named).any(axis=1)
    ends = np.searchsorted(owner, np.arange(len(labels) + 1)).tolist()
    spans = tuple(map(slice, ends[:-1], ends[1:]))
    room_mm2 = float(np.count_nonzero(~ink.cells)) * CELL_MM**2
    return _Sites(boxes, _grown(boxes, AIR_MM), starts, tips, _dots(tips), led, covers, spans, room_mm2)


def _grown(boxes: Rows, by_mm: float) -> Rows:
    wider: Rows = boxes + np.array([-by_mm, -by_mm, by_mm, by_mm])
    return wider


def _dots(tips: Rows) -> Rows:
    """What labels name, with the dot of a leader on it."""
    return _grown(np.concatenate([tips, tips], axis=-1), TIP_MM)


def _meet(boxes: Rows, others: Rows) -> Mask:
    """Whether rectangles share more than an edge."""
    across: Mask = (boxes[..., 0] < others[..., 2]) & (others[..., 0] < boxes[..., 2])
    down: Mask = (boxes[..., 1] < others[..., 3]) & (others[..., 1] < boxes[..., 3])
    return across & down


def _cross(starts: Rows, ends: Rows, boxes: Rows) -> Mask:
    """Whether strokes meet rectangles: they overlap level, upright, and seen along the stroke."""
    around = np.concatenate([np.minimum(starts, ends), np.maximum(starts, ends)], axis=-1)
    along, half = ends - starts, (boxes[..., 2:] - boxes[..., :2]) / 2
    off = (boxes[..., :2] + boxes[..., 2:]) / 2 - starts
    aside = np.abs(along[..., 0] * off[..., 1] - along[..., 1] * off[..., 0])
    reach = np.abs(along[..., 1]) * half[..., 0] + np.abs(along[..., 0]) * half[..., 1]
    return _meet(around, boxes) & (aside < reach)


def _cut(start: Rows, end: Rows, starts: Rows, ends: Rows) -> Mask:
    """Whether strokes cut one stroke: the ends of each lie on both sides of the other."""

    def side(here: Rows, there: Rows, spot: Rows) -> Rows:
        along, off = there - here, spot - here
        return np.asarray(along[..., 0] * off[..., 1] - along[..., 1] * off[..., 0])

    apart = side(start, end, starts) * side(start, end, ends) < 0
    return apart & (side(starts, ends, start) * side(starts, ends, end) < 0)


def _candidates(each: Label, frame: Box) -> Rows:
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
    return (Line((start, each.at_mm), THIN), replace(circle(each.at_mm, DOT_MM, pen=None), fill="black"))


def _texts(each: Label, box: Box) -> tuple[Text, ...]:
    middle = box.centre_mm[0]
    first = box.top_mm + top_of_text(each.lines[0]) * each.size_mm
    spots = ((middle, first + row * 1.2 * each.size_mm) for row in range(len(each.lines)))
    texts = zip(spots, each.lines, strict=True)
    return tuple(Text(spot, line, each.size_mm, each.bold, "middle") for spot, line in texts)
