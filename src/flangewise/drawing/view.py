"""From the part's mm to mm of paper: scales that can be said, and long parts with a length left out.

Scales follow the round steps of common practice (ISO 5455 has 1:1, 1:2, 1:5, 1:10; the steps between them are ours, so
that small parts fill the frame).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

_STEPS = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0)
SCALES = tuple(
    sorted(
        {
            *(step * tens for tens in (1, 10) for step in _STEPS),
            *(1 / (step * tens) for tens in (1, 10, 100) for step in _STEPS),
        }
    )
)
BREAK_MM = 3.0
"""Paper left open between the two break lines."""
KEPT_MM = 3.0
"""Paper kept on each side of a break, so that the break itself can be seen."""


def scale_for(wanted_mm: float, room_mm: float, *, largest: float = 10.0) -> float:
    """The largest round scale at which a length fits the room; the smallest one there is, if none does."""
    fitting = [scale for scale in SCALES if scale <= largest and wanted_mm * scale <= room_mm + 1e-9]
    return fitting[-1] if fitting else SCALES[0]


@dataclass(frozen=True)
class Piece:
    """A stretch of the part that is drawn: from, to in mm of the part; where its start stands on the paper."""

    from_mm: float
    to_mm: float
    paper_mm: float


@dataclass(frozen=True)
class Ruler:
    """A length laid on paper in one piece or in several with breaks between."""

    scale: float
    pieces: tuple[Piece, ...]

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
    return Ruler(scale, (Piece(0.0, length_mm, 0.0),))


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
            return Ruler(scale, _pieces(length_mm, sorted(cuts), scale=scale))
    return None


def _empty(length_mm: float, keep: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    gaps, at_mm = [], 0.0
    for start_mm, end_mm in sorted(keep):
        if start_mm > at_mm:
            gaps.append((at_mm, start_mm))
        at_mm = max(at_mm, end_mm)
    if at_mm < length_mm:
        gaps.append((at_mm, length_mm))
    return gaps


def _pieces(length_mm: float, cuts: Sequence[tuple[float, float]], *, scale: float) -> tuple[Piece, ...]:
    pieces, at_mm, paper_mm = [], 0.0, 0.0
    for start_mm, end_mm in (*cuts, (length_mm, length_mm)):
        pieces.append(Piece(at_mm, start_mm, paper_mm))
        paper_mm += (start_mm - at_mm) * scale + BREAK_MM
        at_mm = end_mm
    return tuple(pieces)
