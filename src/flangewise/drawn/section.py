"""A drawn blank that is a section: all its bend lines lie alike and cross the whole blank, one face after the other."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from flangewise.drawn.blank import DrawnBlank, DrawnLine, Ring, ring_area_mm2
from flangewise.drawn.on_sheet import REACH_MM
from flangewise.drawn.strokes import STRAIGHT_MM
from flangewise.geometry import Point


@dataclass(frozen=True)
class DrawnSection:
    """The flat of a section from its start edge on, its marked face up, the start edge toward the operator.

    `flats_mm` go from the start edge to the first line, from line to line, and on to the end edge: each holds the half
    zones at its lines, which the tools make. `lines` and `faces` are numbers of the blank, in that order. `length_mm`
    is along the bends at the widest place; `is_rectangle` is False where corners or edges are cut off.
    """

    length_mm: float
    flats_mm: tuple[float, ...]
    lines: tuple[int, ...]
    faces: tuple[int, ...]
    is_rectangle: bool

    @property
    def developed_mm(self) -> float:
        """From edge to edge across the bends."""
        return sum(self.flats_mm)


def as_section(blank: DrawnBlank) -> DrawnSection | None:
    """The section that a drawn blank is, or None: no line, lines not parallel, faces that branch, sheet beside a line.

    The start edge is the lower one of the drawing, of edges as low the left one.
    """
    if not blank.lines:
        return None
    frame = _Frame.on(blank.lines[0])
    ordered = sorted(blank.lines, key=lambda line: frame.across_mm(line.start_mm))
    chain = _chain(ordered, frame)
    if chain is None or not all(frame.crosses_all(line, blank.outline_mm) for line in ordered):
        return None
    along_mm = [frame.along_mm(point) for point in blank.outline_mm]
    across_mm = [frame.across_mm(point) for point in blank.outline_mm]
    stations_mm = [min(across_mm), *(frame.across_mm(line.start_mm) for line in ordered), max(across_mm)]
    length_mm, developed_mm = max(along_mm) - min(along_mm), stations_mm[-1] - stations_mm[0]
    lacking_mm2 = length_mm * developed_mm - ring_area_mm2(blank.outline_mm)
    return DrawnSection(
        length_mm=length_mm,
        flats_mm=tuple(there - here for here, there in pairwise(stations_mm)),
        lines=tuple(line.number for line in ordered),
        faces=chain,
        # What edges drawn a little askew leave of the rectangle around them.
        is_rectangle=lacking_mm2 <= STRAIGHT_MM * (length_mm + developed_mm),
    )


@dataclass(frozen=True)
class _Frame:
    """Along and across the bends: across goes up the drawing, or to the right where the bends stand upright."""

    origin_mm: Point
    across: Point

    @classmethod
    def on(cls, line: DrawnLine) -> _Frame:
        (x_mm, y_mm), (u_mm, v_mm) = line.start_mm, line.end_mm
        length_mm = ((u_mm - x_mm) ** 2 + (v_mm - y_mm) ** 2) ** 0.5
        normal = (y_mm - v_mm) / length_mm, (u_mm - x_mm) / length_mm
        upright = abs(normal[1]) < 1e-9
        turned = normal[0] < 0 if upright else normal[1] < 0
        return cls(line.start_mm, (-normal[0], -normal[1]) if turned else normal)

    def across_mm(self, point_mm: Point) -> float:
        return (point_mm[0] - self.origin_mm[0]) * self.across[0] + (point_mm[1] - self.origin_mm[1]) * self.across[1]

    def along_mm(self, point_mm: Point) -> float:
        return (point_mm[0] - self.origin_mm[0]) * self.across[1] - (point_mm[1] - self.origin_mm[1]) * self.across[0]

    def crosses_all(self, line: DrawnLine, outline: Ring) -> bool:
        """Whether a line goes along the bends and there is sheet nowhere on it but between its ends."""
        level_mm = self.across_mm(line.start_mm)
        if abs(self.across_mm(line.end_mm) - level_mm) > STRAIGHT_MM:
            return False
        ends_mm = sorted((self.along_mm(line.start_mm), self.along_mm(line.end_mm)))
        met_mm: list[float] = []
        for one, other in pairwise((*outline, outline[0])):
            here_mm, there_mm = self.across_mm(one) - level_mm, self.across_mm(other) - level_mm
            if here_mm * there_mm < 0:
                share = here_mm / (here_mm - there_mm)
                met_mm.append(self.along_mm(one) + share * (self.along_mm(other) - self.along_mm(one)))
            if abs(here_mm) <= STRAIGHT_MM:
                met_mm.append(self.along_mm(one))
        return all(ends_mm[0] - REACH_MM <= each <= ends_mm[1] + REACH_MM for each in met_mm)


def _chain(ordered: Sequence[DrawnLine], frame: _Frame) -> tuple[int, ...] | None:
    """The faces one after the other across these lines; None where they do not follow each other in that order."""
    sides = [{line.face_from, line.face_to} for line in ordered]
    counts: dict[int, int] = defaultdict(int)
    for face in (face for pair in sides for face in pair):
        counts[face] += 1
    if any(len(one & other) != 1 for one, other in pairwise(sides)) or max(counts.values()) > 2:
        return None
    (face,) = sides[0] - sides[1] if len(sides) > 1 else {_lower_of(ordered[0], frame)}
    chain = [face]
    for pair in sides:
        (face,) = pair - {face}
        chain.append(face)
    return tuple(chain)


def _lower_of(line: DrawnLine, frame: _Frame) -> int:
    """The face before a line, across the bends: what hangs on the line lies on its left."""
    return line.face_from if frame.along_mm(line.start_mm) < frame.along_mm(line.end_mm) else line.face_to
