"""Labels put where there is room: beside what they name if possible, else further off with a leader.

Every label has a list of places, nearest first, of which what is drawn leaves some free. It gets the first that no
other label has taken, or one that another label can leave for a place of its own. The same picture always comes out the
same.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

import numpy as np

from flangewise.drawing.items import THIN, Box, Drawing, Line, Point, Text, text_width_mm, top_of_text
from flangewise.drawing.marks import circle
from flangewise.drawing.sites import (
    GAP_MM,
    LEADER_FROM_MM,
    Ground,
    Known,
    Mask,
    Places,
    Rows,
    Sites,
    ground_of,
    sites_of,
)
from flangewise.records import dataclass, field, replace

LABEL_MM = 3.5
"""Usual size (em) of words in a picture: read at arm's length and a half, height = distance / 200."""
DOT_MM = 0.45
"""The radius of a leader's dot on what its label names."""
ORDERS = 3
"""How many orders of the labels are tried."""
MOVES = 24
"""How many places are looked at for which another label would have to move."""

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


@dataclass(frozen=True)
class Bare:
    """A picture without its labels, which may be tried in many ways: what is drawn is looked at once."""

    drawing: Drawing
    ground: Ground
    known: dict[Label, Places] = field(default_factory=dict)
    ruled_out: Known = field(default_factory=dict)

    def places(self, label: Label) -> Places:
        """The free places of a label, reckoned once."""
        if label not in self.known:
            every = _candidates(label, self.ground.frame)
            self.known[label] = self.ground.free_places(every, label.at_mm, led=label.led)
        return self.known[label]


def bare(drawing: Drawing) -> Bare:
    """A picture to which labels are to come."""
    return Bare(drawing, ground_of(drawing))


def place(
    given: Drawing | Bare, labels: Iterable[Label], *, whole: bool = False, crossing: bool = True
) -> tuple[Drawing, tuple[Label, ...]]:
    """The drawing with its labels, and the labels for which no room was left; `whole`: all of them, or none is drawn.

    No label placed overlaps a line, a text or the frame. Leaders cross lines where they must, never texts; each other,
    and what other labels name, only where a label would be lost otherwise, and `crossing` is left true.
    """
    wanted, on = list(labels), given if isinstance(given, Bare) else bare(given)
    drawing, sites = on.drawing, _sites(on, wanted) if wanted else None
    homes = _homes(sites, whole=whole, crossing=crossing) if sites is not None else {}
    unplaced = tuple(each for number, each in enumerate(wanted) if number not in homes)
    if sites is not None and not (whole and unplaced):
        # Drawn in the order of the labels, whatever the order they were placed in.
        for number, row in sorted(homes.items()):
            each, box = wanted[number], sites.box(row)
            drawing = drawing.adding((*_leader(each, box), *_texts(each, box)))
    return drawing, unplaced


def _sites(on: Bare, labels: Sequence[Label]) -> Sites:
    """The free places of all labels together."""
    named = np.array([each.at_mm for each in labels], dtype=float)
    led = np.array([each.led for each in labels])
    return sites_of(on.ground, labels, [on.places(each) for each in labels], named, led, on.ruled_out)


def _homes(sites: Sites, *, whole: bool, crossing: bool) -> dict[int, int]:
    """The row of each label that finds a place; of `whole` all or none."""
    homes: dict[int, int] = {}
    count = len(sites.spans)
    hopeless = [number for number, span in enumerate(sites.spans) if span.start == span.stop]
    if whole and sites.crowded:
        return homes
    for strict in (True, False)[sites.crowded : 1 + crossing]:
        order = [number for number in range(count) if number not in hopeless]
        for _ in range(ORDERS):
            found, unplaced = _Settled(sites, strict).with_labels(order, whole=whole)
            if len(found) > len(homes):
                homes = found
            if not unplaced:
                return homes
            # Those that found no place go first: the others have more choice.
            order = [*unplaced, *(each for each in order if each not in unplaced)]
    return {} if whole else homes


@dataclass
class _Settled:
    """Labels in their places while more are placed: how often each place is ruled out, and by whom."""

    sites: Sites
    strict: bool
    homes: dict[int, int] = field(default_factory=dict)
    out: dict[int, Mask] = field(default_factory=dict)

    def __post_init__(self) -> None:
        # What must not be taken at all counts as ruled out by two, for no one label could make room.
        self.times = self.sites.covers * (2 if self.strict else 0)

    def with_labels(self, order: Sequence[int], *, whole: bool) -> tuple[dict[int, int], list[int]]:
        """The row of each label that has found a place, and those that have not; of `whole` no more than the first."""
        unplaced = []
        for label in order:
            span = self.sites.spans[label]
            row = _first(self.times[span] == 0)
            if row is not None:
                self._put(label, span.start + row)
            elif not self._makes_room(label):
                unplaced.append(label)
                if whole:
                    break
        return self.homes, unplaced

    def _put(self, label: int, row: int) -> None:
        if label in self.homes:
            self.times -= self.out[label]
        self.homes[label] = row
        self.out[label] = self.sites.ruled_out(label, row, strict=self.strict)
        self.times += self.out[label]

    def _makes_room(self, label: int) -> bool:
        """Whether it was put in a place that one other label alone rules out, that one having gone elsewhere."""
        span = self.sites.spans[label]
        rows = np.flatnonzero(self.times[span] == 1)[:MOVES] + span.start
        if not len(rows):
            return False
        placed = list(self.out)
        others = np.array([self.out[each][rows] for each in placed]).argmax(axis=0)
        spare: dict[int, tuple[int, int]] = {}
        for other in dict.fromkeys(others.tolist()):
            theirs, mine = self.sites.spans[placed[other]], np.flatnonzero(others == other)
            free = np.flatnonzero(self.times[theirs] == 0) + theirs.start
            if len(free):
                fits = ~self.sites.clash(rows[mine], free, strict=self.strict)
                found = fits.any(axis=1)
                goes = free[fits.argmax(axis=1)]
                spare.update(
                    (at, (placed[other], to)) for at, to in zip(mine[found].tolist(), goes[found].tolist(), strict=True)
                )
        if not spare:
            return False
        best = min(spare)
        self._put(*spare[best])
        self._put(label, int(rows[best]))
        return True


def _first(mask: Mask) -> int | None:
    place_of = int(mask.argmax()) if len(mask) else 0
    return place_of if mask[place_of : place_of + 1].any() else None


@lru_cache(maxsize=256)
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
