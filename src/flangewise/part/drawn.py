"""What is wanted of a blank that is drawn: its bends and faces by name, and the sizes they come to when finished."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence

from flangewise.bend import Sizes
from flangewise.drawn import DrawnBlank, DrawnLine
from flangewise.geometry import Point
from flangewise.part.bends import WantedBend
from flangewise.part.panel import BASE, BASE_FACE, SIDES
from flangewise.records import dataclass

# A line is at the outer end of a face where both its ends come so near to it.
AT_END_MM = 0.05


@dataclass(frozen=True)
class Drawn:
    """A blank that is drawn, with what its part file says of it.

    `bends` go by the numbers of the bend lines, `faces` are the names of the faces from the base on. `wanted_mm` are
    finished sizes that the drawing of the part gives, by face: one of a flange, along and across of the base.
    """

    file: str
    blank: DrawnBlank
    bends: tuple[WantedBend, ...]
    faces: tuple[str, ...]
    radius_mm: float | None = None
    wanted_mm: tuple[tuple[str, tuple[float, ...]], ...] = ()
    sizes: Sizes = "outside"

    def asked_radius_mm(self, bend: WantedBend) -> float | None:
        """The inside radius asked for of a bend; None where the tools give it."""
        return bend.radius_mm if bend.radius_mm is not None else self.radius_mm

    def line(self, bend: int) -> DrawnLine:
        """The line of a bend."""
        return self.blank.lines[bend - 1]

    def legs_mm(self, bend: int, deductions_mm: Mapping[int, float]) -> tuple[float, float]:
        """The face that a bend hangs on and the one that hangs on it, square to its line, as finished outside sizes."""
        line = self.line(bend)
        x, y = outward(line)
        return tuple(  # type: ignore[return-value]
            self._beyond_mm(face, line.start_mm, way, deductions_mm) + deductions_mm.get(bend, 0.0) / 2
            for face, way in ((line.face_from, (-x, -y)), (line.face_to, (x, y)))
        )

    def sizes_mm(self, deductions_mm: Mapping[int, float]) -> tuple[tuple[float, ...], ...]:
        """The finished outside sizes of each face with the deductions of its bends: a flange from its mould line to
        its tip or to the mould line there, the base along and across.

        The blank is fixed: a line lies half the deduction nearer to the tip than the mould line of its bend.
        """
        base = tuple(
            sum(self._beyond_mm(BASE_FACE, (0.0, 0.0), way, deductions_mm) for way in ((x, y), (-x, -y)))
            for x, y in ((1.0, 0.0), (0.0, 1.0))
        )
        hung = {line.face_to: (self.legs_mm(line.number, deductions_mm)[1],) for line in self.blank.lines}
        return (base, *(hung[number] for number in range(BASE_FACE + 1, len(self.faces) + 1)))

    def _beyond_mm(self, face: int, start_mm: Point, way: Point, deductions_mm: Mapping[int, float]) -> float:
        """How far a face reaches from a point in a direction, to the mould line where it ends in a bend."""
        ring = self.blank.faces[face - 1].outline_mm
        far_mm = max(_dot(point, way) for point in ring)
        more_mm = [
            deductions_mm.get(line.number, 0.0) / 2
            for line in self.blank.lines
            if face in (line.face_from, line.face_to)
            and all(far_mm - _dot(point, way) < AT_END_MM for point in (line.start_mm, line.end_mm))
        ]
        return far_mm - _dot(start_mm, way) + max(more_mm, default=0.0)


def outward(line: DrawnLine) -> Point:
    """Unit vector square to a line, toward what hangs on it."""
    (x, y), (to_x, to_y) = line.start_mm, line.end_mm
    length_mm = math.dist(line.start_mm, line.end_mm)
    return (y - to_y) / length_mm, (to_x - x) / length_mm


def names_of(blank: DrawnBlank) -> tuple[str, ...]:
    """The names of the faces, the base's first.

    On the base a face is named by the side it lies on, marked face up: near, right, far, left; on a flange by tip, left
    and right, seen from outside. Several on one side are numbered from the left, as tabs on one edge are.
    """
    hangs = {line.face_to: line for line in blank.lines}
    names = {BASE_FACE: BASE}
    on: dict[int, list[DrawnLine]] = defaultdict(list)
    for line in blank.lines:
        on[line.face_from].append(line)
    for number in range(BASE_FACE, len(blank.faces) + 1):
        path = "" if number == BASE_FACE else f"{names[number]}."
        frame = (0.0, -1.0) if number == BASE_FACE else outward(hangs[number])
        sides = {line.face_to: _side(frame, outward(line), on_base=number == BASE_FACE) for line in on[number]}
        often = Counter(sides.values())
        for side in often:
            ordered = _from_left([line for line in on[number] if sides[line.face_to] == side])
            for at, line in enumerate(ordered, start=1):
                names[line.face_to] = f"{path}{side}" + (f".{at}" if often[side] > 1 else "")
    return tuple(names[number] for number in sorted(names))


def _side(frame: Point, way: Point, *, on_base: bool) -> str:
    """The side toward which a face hangs, of the one it hangs on; `frame` is what counts as near, or as the tip."""
    turned_deg = math.degrees(math.atan2(frame[0] * way[1] - frame[1] * way[0], _dot(frame, way)))
    quarter = round(turned_deg / 90.0) % 4
    return (SIDES if on_base else ("tip", "right", "back", "left"))[quarter]


def _from_left(lines: Iterable[DrawnLine]) -> Sequence[DrawnLine]:
    """Lines of one side from the left end, seen from outside: what is outward lies to the right of that direction."""
    listed = list(lines)
    x, y = outward(listed[0])
    return sorted(listed, key=lambda line: _dot(line.end_mm, (-y, x)))


def _dot(one: Point, other: Point) -> float:
    return one[0] * other[0] + one[1] * other[1]
