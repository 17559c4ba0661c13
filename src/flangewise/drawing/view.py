"""From the part's mm to mm of paper: scales that can be said, long parts with a length left out, and what can be seen.

Scales follow the round steps of common practice (ISO 5455 has 1:1, 1:2, 1:5, 1:10; the steps between them are ours, so
that small parts fill the frame).

Seen is a section drawn out along its length, looked at along the space diagonal. Coordinates are (across, up) in the
plane of the section and a depth behind its front end. The eye looks from right, above and front alike,
so a line of sight goes one mm right and one up for every mm it comes forward. A point is hidden exactly if that line,
drawn in the plane of the section, runs through the section before it comes out at the front end. No depth buffer is
needed. Derived here; no source.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from flangewise.drawing.items import Point, between, moved
from flangewise.records import dataclass, replace

_STEPS = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0)
_ENLARGED = {step * tens for tens in (1, 10) for step in _STEPS}
SCALES = tuple(sorted(_ENLARGED | {1 / (step * tens) for tens in (1, 10, 100) for step in _STEPS}))
BREAK_MM = 3.0
"""Paper left open between the two break lines."""
KEPT_MM = 3.0
"""Paper kept on each side of a break, so that the break itself can be seen."""

Outline: TypeAlias = tuple[Point, ...]
Points: TypeAlias = NDArray[np.float64]

SIGHT = (1.0, 1.0)
TOUCH_MM = 1e-6


def scale_for(wanted_mm: float, room_mm: float, *, largest: float = 10.0) -> float:
    """The largest round scale at which a length fits the room; the smallest one there is, if none does."""
    fitting = [scale for scale in SCALES if scale <= largest and wanted_mm * scale <= room_mm + 1e-9]
    return fitting[-1] if fitting else SCALES[0]


@dataclass(frozen=True)
class RulerPiece:
    """A stretch of the part that is drawn: from, to in mm of the part; where its start stands on the paper."""

    from_mm: float
    to_mm: float
    paper_mm: float


@dataclass(frozen=True)
class Ruler:
    """A length laid on paper in one piece or in several with breaks between."""

    scale: float
    pieces: tuple[RulerPiece, ...]

    def paper_mm(self, at_mm: float) -> float:
        """Where a place of the part stands on the paper; a place left out stands at the edge of its break."""
        piece = next((each for each in self.pieces if at_mm <= each.to_mm), self.pieces[-1])
        return piece.paper_mm + (max(at_mm, piece.from_mm) - piece.from_mm) * self.scale

    @property
    def stretches_mm(self) -> tuple[tuple[float, float], ...]:
        """The pieces on paper, each from and to."""
        return tuple((each.paper_mm, each.paper_mm + (each.to_mm - each.from_mm) * self.scale) for each in self.pieces)

    @property
    def length_mm(self) -> float:
        """Paper from the first place to the last."""
        return self.stretches_mm[-1][1] - self.stretches_mm[0][0]

    def breaks_mm(self) -> tuple[tuple[float, float], ...]:
        """The paper between pieces: (end of one, start of the next)."""
        return tuple((end, start) for (_, end), (start, _) in pairwise(self.stretches_mm))

    def begun_at(self, paper_mm: float) -> "Ruler":
        """The same ruler laid on the paper so much further on."""
        return replace(self, pieces=tuple(replace(each, paper_mm=each.paper_mm + paper_mm) for each in self.pieces))


def unbroken(length_mm: float, scale: float) -> Ruler:
    """A whole length in one piece, however long that is."""
    return Ruler(scale, (RulerPiece(0.0, length_mm, 0.0),))


def ruler(length_mm: float, room_mm: float, *, scale: float, keep: Sequence[tuple[float, float]] = ()) -> Ruler | None:
    """A length of 0 to length_mm at a scale, broken where nothing stands if it is longer than the room.

    `keep` are stretches with something to see, which are never cut. None where even all the empty stretches left out
    do not make it fit: the caller takes a smaller scale.
    """
    if length_mm * scale <= room_mm + 1e-9:
        return unbroken(length_mm, scale)
    cuts: list[tuple[float, float]] = []
    for start_mm, end_mm in sorted(_empty(length_mm, keep), key=lambda gap: gap[0] - gap[1]):
        cuttable_mm = (end_mm - start_mm) - 2 * KEPT_MM / scale
        over_mm = (length_mm - sum(b - a for a, b in cuts)) * scale + BREAK_MM * (len(cuts) + 1) - room_mm
        cut_mm = min(cuttable_mm, over_mm / scale)
        if cut_mm * scale <= BREAK_MM:
            continue
        middle_mm = (start_mm + end_mm) / 2
        cuts.append((middle_mm - cut_mm / 2, middle_mm + cut_mm / 2))
        if cut_mm >= over_mm / scale - 1e-9:
            return Ruler(scale, tuple(_pieces(length_mm, sorted(cuts), scale=scale)))
    return None


def _empty(length_mm: float, keep: Iterable[tuple[float, float]]) -> Iterator[tuple[float, float]]:
    at_mm = 0.0
    for start_mm, end_mm in (*sorted(keep), (length_mm, length_mm)):
        if start_mm > at_mm:
            yield at_mm, start_mm
        at_mm = max(at_mm, end_mm)


def _pieces(length_mm: float, cuts: Sequence[tuple[float, float]], *, scale: float) -> Iterator[RulerPiece]:
    at_mm, paper_mm = 0.0, 0.0
    for start_mm, end_mm in (*cuts, (length_mm, length_mm)):
        yield RulerPiece(at_mm, start_mm, paper_mm)
        paper_mm += (start_mm - at_mm) * scale + BREAK_MM
        at_mm = end_mm


def entry_mm(section: Outline, point: Point, *, within_mm: float) -> float:
    """How far behind the front a point may lie and still be seen; within_mm if it is seen all the way.

    A point whose line of sight goes into the section at once is seen nowhere: 0.
    """
    # How far along the line of sight it meets an edge.
    shares = _meetings(point, moved(point, SIGHT, within_mm), *_edges(section))
    cuts = sorted({0.0, within_mm, *(share * within_mm for share in shares if share * within_mm > TOUCH_MM)})
    for near, far in pairwise(cuts):
        if far - near > TOUCH_MM and inside(section, moved(point, SIGHT, (near + far) / 2)):
            return near
    return within_mm


def inside(section: Outline, point: Point) -> bool:
    """Whether a point lies in the section, by counting edges to its right."""
    across, up = point
    here, there = _edges(section)
    spans = (here[:, 1] > up) != (there[:, 1] > up)
    (x0, y0), (x1, y1) = here[spans].T, there[spans].T
    return int((x0 + (up - y0) * (x1 - x0) / (y1 - y0) > across).sum()) % 2 == 1


@lru_cache(maxsize=4)
def _edges(section: Outline) -> tuple[Points, Points]:
    """Beginnings and ends of the section's edges."""
    here = np.array(section)
    return here, np.roll(here, -1, axis=0)


def seen_runs(section: Outline, line: Sequence[Point], *, depth_mm: float) -> Iterator[tuple[Point, Point]]:
    """The visible stretches of a run of strokes that lies in the plane a depth behind the front end."""
    hiding = _hiding(section, depth_mm)
    for here, there in pairwise(line):
        spots = sorted({0.0, 1.0, *_meetings(here, there, *hiding)})
        for start, end in pairwise(spots):
            middle = between(here, there, (start + end) / 2)
            if end - start > 1e-9 and entry_mm(section, middle, within_mm=depth_mm) >= depth_mm:
                yield between(here, there, start), between(here, there, end)


def _hiding(section: Outline, depth_mm: float) -> tuple[Points, Points]:
    """Edges at which visibility can change: the section's, those moved back along the sight, and behind corners."""
    here, there = _edges(section)
    shift = -depth_mm * np.array(SIGHT)
    return np.concatenate([here + shift, here, here]), np.concatenate([there + shift, here + shift, there])


def _meetings(here: Point, there: Point, firsts: Points, seconds: Points) -> list[float]:
    """Where along a stroke it meets edges, as shares of its length strictly between 0 and 1."""
    one, two = np.array(there) - np.array(here), seconds - firsts
    cross = one[0] * two[:, 1] - one[1] * two[:, 0]
    meet = np.abs(cross) >= 1e-12
    away, two, cross = firsts[meet] - np.array(here), two[meet], cross[meet]
    share = (away[:, 0] * two[:, 1] - away[:, 1] * two[:, 0]) / cross
    other = (away[:, 0] * one[1] - away[:, 1] * one[0]) / cross
    on_both = (share > 0) & (share < 1) & (other >= -1e-9) & (other <= 1 + 1e-9)
    found: list[float] = share[on_both].tolist()
    return found


def ridges(section: Outline, *, corner_deg: float = 40.0) -> tuple[Point, ...]:
    """Points of the section whose long edges are drawn: sharp corners, and where the surface turns from the eye."""
    found = []
    for before, here, after in zip((section[-1], *section[:-1]), section, (*section[1:], section[0]), strict=True):
        came, goes = (here[0] - before[0], here[1] - before[1]), (after[0] - here[0], after[1] - here[1])
        turn = math.atan2(came[0] * goes[1] - came[1] * goes[0], came[0] * goes[0] + came[1] * goes[1])
        sides = [SIGHT[0] * edge[1] - SIGHT[1] * edge[0] for edge in (came, goes)]
        if abs(math.degrees(turn)) > corner_deg or sides[0] * sides[1] < 0:
            found.append(here)
    return tuple(found)
