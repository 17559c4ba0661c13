"""Places of labels: which of them what is drawn leaves free, and which pairs of them cannot both be taken.

Places stand in rows of arrays, rectangles as left, top, right, bottom in mm, so that many are asked at once. What one
place rules out of another label's is kept for as long as the same ground is tried with other labels beside.
"""

from collections.abc import Hashable, Sequence
from functools import cached_property
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from flangewise.drawing.ink import CELL_MM, Ink, clean
from flangewise.drawing.items import Box, Drawing, Point
from flangewise.records import dataclass, field

GAP_MM = 0.8
"""Air kept around every text."""
AIR_MM = GAP_MM * 0.75
"""Air between a text and any other ink."""
APART_MM = (1.0, 0.8)
"""Air between two labels beside and below each other, so that they are not read as one."""
LEADER_AIR_MM = 0.45
"""Air between a leader and a text."""
LEADER_FROM_MM = 3.0
"""A label further than this from what it names gets a leader."""
TIP_MM = 0.6
"""Half the room of what a label names."""
FILLED = 0.7
"""More of the free room than this share is never filled with labels."""

Rows = NDArray[np.float64]
Mask = NDArray[np.bool_]
Numbers = NDArray[np.intp]
Known: TypeAlias = dict[tuple[Hashable, int], dict[Hashable, tuple[Mask, Mask]]]
"""What a place of a label, by its number, rules out of the places of another: at least, and where no leaders cross."""
LEFT, TOP, RIGHT, BOTTOM, MIDDLE_X, MIDDLE_Y, HALF_X, HALF_Y = range(8)
START_X, START_Y, ALONG_X, ALONG_Y, FROM_X, FROM_Y, TO_X, TO_Y = range(8, 16)
DOT_LEFT, DOT_TOP, DOT_RIGHT, DOT_BOTTOM = range(16, 20)
"""Columns of a place: its rectangle, its leader and the upright rectangle around that, the room of what is named."""


@dataclass(frozen=True)
class Places:
    """Places of one label that are free: a column for each, and which of them have a leader."""

    columns: Rows
    led: Mask


@dataclass(frozen=True)
class Ground:
    """What is drawn before any label: its ink, and the rectangles of the words in it."""

    ink: Ink
    written: Rows

    @property
    def frame(self) -> Box:
        """Where labels may be put."""
        return self.ink.frame

    def free_places(self, boxes: Rows, at_mm: Point, *, led: bool) -> Places:
        """Those of a label's places that touch neither ink nor frame, and whose leaders keep off the words."""
        boxes = boxes[self.ink.free_places(grown(boxes, AIR_MM))]
        tip, around = np.array(at_mm), grown(boxes, 0.4)
        starts = np.clip(tip, around[:, :2], around[:, 2:])
        has_leader = (np.hypot(*(starts - tip).T) > LEADER_FROM_MM) & led
        columns = _columns(boxes, starts, tip)
        if len(self.written) and has_leader.any():
            words = _columns(self.written, self.written[:, :2], self.written[:, :2])[:, :, None]
            clear = ~(has_leader & (_crossed(columns, words, 0.3) | _dotted(columns, words)).any(axis=0))
            columns, has_leader = columns[:, clear], has_leader[clear]
        return Places(columns, has_leader)


def ground_of(drawing: Drawing) -> Ground:
    """What is drawn, as labels see it."""
    written = [text.box for text in drawing.texts()]
    ink = clean(drawing.labels_in or drawing.frame).with_lines(drawing.lines()).with_boxes(written)
    corners = [(box.left_mm, box.top_mm, box.right_mm, box.bottom_mm) for box in written]
    return Ground(ink, np.array(corners).reshape(-1, 4))


@dataclass(frozen=True)
class Sites:
    """The free places of all labels, a column each, the best of each label first.

    `spans` are the columns of each label; `led` whether a leader goes from a place to what is named; `covers` whether
    it lies on what another label names; `known` what is ruled out as far as it was asked on this ground.
    """

    labels: tuple[Hashable, ...]
    columns: Rows
    led: Mask
    covers: Mask
    spans: tuple[slice, ...]
    room_mm2: float
    known: Known = field(default_factory=dict)

    @property
    def crowded(self) -> bool:
        """Whether the labels take more of the room than can be filled with them."""
        firsts = [self.columns[:, span.start] for span in self.spans if span.start < span.stop]
        taken_mm2 = sum(4 * float((each[HALF_X] + AIR_MM) * (each[HALF_Y] + AIR_MM)) for each in firsts)
        return len(firsts) < len(self.spans) or taken_mm2 > FILLED * self.room_mm2

    def box(self, place: int) -> Box:
        """The rectangle of a place."""
        return Box(*self.columns[: BOTTOM + 1, place].tolist())

    def ruled_out(self, label: int, place: int, *, strict: bool) -> Mask:
        """Which places of other labels cannot be taken along with this one of a label."""
        start = self.spans[label].start
        found = self.known.setdefault((self.labels[label], place - start), {self.labels[label]: self._own(label)})
        missing = [number for number, each in enumerate(self.labels) if each not in found]
        if len(missing) == len(self.labels) - 1 and missing:
            # Nothing is known: all are asked at once, its own along with them.
            struck, cut = self._clash_of(self.columns[:, place].tolist(), self.led[place], self.columns, self._led)
            cut |= struck
            for number in missing:
                found[self.labels[number]] = struck[self.spans[number]], cut[self.spans[number]]
        elif missing:
            theirs = np.concatenate([np.arange(self.spans[each].start, self.spans[each].stop) for each in missing])
            struck, cut = self._clash(self.columns[:, place].tolist(), self.led[place], theirs)
            ends = np.cumsum([0, *(self.spans[each].stop - self.spans[each].start for each in missing)]).tolist()
            for number, from_, to in zip(missing, ends, ends[1:], strict=False):
                found[self.labels[number]] = struck[from_:to], struck[from_:to] | cut[from_:to]
        return np.concatenate([found[each][strict] for each in self.labels])

    def clash(self, places: Numbers, others: Numbers, *, strict: bool) -> Mask:
        """Which places cannot be taken along with which others: a row for each, a column for each other."""
        struck, cut = self._clash(self.columns[:, places, None], self.led[places, None], others)
        return struck | cut if strict else struck

    def _own(self, label: int) -> tuple[Mask, Mask]:
        """A label does not stand in its own way."""
        none = np.zeros(self.spans[label].stop - self.spans[label].start, dtype=bool)
        return none, none

    def _clash(self, ours: Sequence[float] | Rows, led: Mask, others: Numbers) -> tuple[Mask, Mask]:
        """Which others a place, or each of several, takes the room of; and with whose leaders its own is cut."""
        theirs, theirs_led = self.columns[:, others], np.flatnonzero(self.led[others])
        return self._clash_of(ours, led, theirs, (theirs_led, theirs[:, theirs_led]))

    @cached_property
    def _led(self) -> tuple[Numbers, Rows]:
        """The numbers of the places with leaders, and their columns."""
        numbers = np.flatnonzero(self.led)
        return numbers, self.columns[:, numbers]

    @staticmethod
    def _clash_of(
        ours: Sequence[float] | Rows, led: Mask, theirs: Rows, with_leaders: tuple[Numbers, Rows]
    ) -> tuple[Mask, Mask]:
        """The same of others given by their columns, those with leaders among them by their numbers and columns."""
        theirs_led, pointed = with_leaders
        out = _near(theirs, ours, APART_MM)
        cut = np.zeros_like(out)
        if len(theirs_led):
            out[..., theirs_led] |= _crossed(pointed, ours, LEADER_AIR_MM) | _dotted(pointed, ours)
            if led.any():
                cut[..., theirs_led] = _cut(pointed, ours) & led
        if led.any():
            out |= (_crossed(ours, theirs, LEADER_AIR_MM) | _dotted(ours, theirs)) & led
        return out, cut


def sites_of(
    ground: Ground, labels: Sequence[Hashable], places: Sequence[Places], named: Rows, pointed: Mask, known: Known
) -> Sites:
    """The places of all labels together; of each what it names, and whether that is one point."""
    counts = [len(each.led) for each in places]
    owner, columns = (
        np.repeat(np.arange(len(places)), counts),
        np.concatenate([each.columns for each in places], axis=1),
    )
    boxes = columns[: BOTTOM + 1].T
    others = (owner[:, None] != np.arange(len(places))) & pointed
    covers: Mask = (meet(boxes[:, None], dots(named)) & others).any(axis=1)
    ends = [0, *np.cumsum(counts).tolist()]
    spans, led = tuple(map(slice, ends[:-1], ends[1:])), np.concatenate([each.led for each in places])
    room_mm2 = float(np.count_nonzero(~ground.ink.cells)) * CELL_MM**2
    return Sites(tuple(labels), columns, led, covers, spans, room_mm2, known)


def _columns(boxes: Rows, starts: Rows, tip: Rows) -> Rows:
    """The columns of rectangles with their leaders."""
    tips = np.broadcast_to(tip, starts.shape)
    middles, halves = (boxes[:, :2] + boxes[:, 2:]) / 2, (boxes[:, 2:] - boxes[:, :2]) / 2
    around = (np.minimum(starts, tips), np.maximum(starts, tips))
    return np.concatenate([boxes, middles, halves, starts, tips - starts, *around, dots(tips)], axis=1).T.copy()


def _near(some: Rows, others: Sequence[float] | Rows, air_mm: Point) -> Mask:
    """Whether rectangles come nearer to others than the air between, across and down."""
    across: Mask = (some[LEFT] < others[RIGHT] + air_mm[0]) & (some[RIGHT] > others[LEFT] - air_mm[0])
    down: Mask = (some[TOP] < others[BOTTOM] + air_mm[1]) & (some[BOTTOM] > others[TOP] - air_mm[1])
    return across & down


def _dotted(some: Sequence[float] | Rows, others: Sequence[float] | Rows) -> Mask:
    """Whether the room of what some name is met by the rectangles of others."""
    across: Mask = np.less(some[DOT_LEFT], others[RIGHT]) & (others[LEFT] < some[DOT_RIGHT])
    down: Mask = np.less(some[DOT_TOP], others[BOTTOM]) & (others[TOP] < some[DOT_BOTTOM])
    return across & down


def _crossed(some: Sequence[float] | Rows, others: Sequence[float] | Rows, air_mm: float) -> Mask:
    """Whether leaders of some meet the rectangles of others: they overlap level, upright, and along the stroke."""
    x, y = some[ALONG_X], some[ALONG_Y]
    aside = abs(x * (others[MIDDLE_Y] - some[START_Y]) - y * (others[MIDDLE_X] - some[START_X]))
    struck: Mask = aside < abs(y) * (others[HALF_X] + air_mm) + abs(x) * (others[HALF_Y] + air_mm)
    struck &= (some[FROM_X] < others[RIGHT] + air_mm) & (others[LEFT] - air_mm < some[TO_X])
    struck &= (some[FROM_Y] < others[BOTTOM] + air_mm) & (others[TOP] - air_mm < some[TO_Y])
    return struck


def _cut(some: Rows, others: Sequence[float] | Rows) -> Mask:
    """Whether leaders cut those of others: the ends of each lie on both sides of the other."""
    x, y, ours_x, ours_y = some[ALONG_X], some[ALONG_Y], others[ALONG_X], others[ALONG_Y]
    off_x, off_y = others[START_X] - some[START_X], others[START_Y] - some[START_Y]
    turn, theirs, ours = x * ours_y - y * ours_x, x * off_y - y * off_x, ours_x * off_y - ours_y * off_x
    # The sides of both ends of a stroke differ by what the two turn from each other.
    apart: Mask = theirs * (theirs + turn) < 0
    across: Mask = ours * (ours + turn) < 0
    return apart & across


def grown(boxes: Rows, by_mm: float) -> Rows:
    """Rectangles with every side moved out by so much."""
    wider: Rows = boxes + np.array([-by_mm, -by_mm, by_mm, by_mm])
    return wider


def dots(tips: Rows) -> Rows:
    """What labels name, with the dot of a leader on it."""
    return grown(np.concatenate([tips, tips], axis=-1), TIP_MM)


def meet(boxes: Rows, others: Rows) -> Mask:
    """Whether rectangles share more than an edge."""
    across: Mask = (boxes[..., 0] < others[..., 2]) & (others[..., 0] < boxes[..., 2])
    down: Mask = (boxes[..., 1] < others[..., 3]) & (others[..., 1] < boxes[..., 3])
    return across & down
