"""The blank as data: faces, bend zones and holes on the flat sheet.

Blank coordinates are (along, developed) in mm, marked face up and the start edge toward you: along the bend lines from
the left, developed from the start edge. A section is a chain of faces; the same types carry a tree of faces.
"""

import math
from collections.abc import Sequence
from functools import cached_property

from flangewise.bend import Allowance
from flangewise.findings import Finding
from flangewise.geometry import Point, area_mm2
from flangewise.records import dataclass

HEAVY_KG, LONG_SIDE_MM = 10.0, 1500.0  # what is heavier or longer is not handled alone (common practice)


@dataclass(frozen=True)
class FlatHole:
    """A hole on the blank: its number in the part file, the face it lies in, centre, and diameter or size.

    `along` is the direction of the first size; the second lies a quarter turn to its left. A cut-out of any other form,
    of a drawn blank, has its way round in `ring_mm`, its centre the middle of the box around it.
    """

    number: int
    face: int
    centre_mm: Point
    diameter_mm: float | None
    size_mm: tuple[float, float] | None
    along: Point = (1.0, 0.0)
    ring_mm: tuple[Point, ...] = ()

    @property
    def half_size_mm(self) -> tuple[float, float]:
        """Half its extent along the bend lines and across them."""
        if self.ring_mm:
            xs, ys = zip(*self.ring_mm, strict=True)
            return (max(xs) - min(xs)) / 2, (max(ys) - min(ys)) / 2
        along_mm, across_mm = self.size_mm or (self.diameter_mm or 0.0, self.diameter_mm or 0.0)
        return along_mm / 2, across_mm / 2

    @property
    def corners_mm(self) -> tuple[Point, ...]:
        """The corners of a hole that is not round, counterclockwise, of a rectangular one from the lower left."""
        if self.ring_mm:
            return self.ring_mm
        (x, y), (half, deep), (dx, dy) = self.centre_mm, self.half_size_mm, self.along
        signs = ((-1, -1), (1, -1), (1, 1), (-1, 1))
        return tuple((x + i * half * dx - j * deep * dy, y + i * half * dy + j * deep * dx) for i, j in signs)

    @property
    def area_mm2(self) -> float:
        """What it takes from the blank: pi d^2/4, or length times width."""
        if self.diameter_mm is not None:
            return math.pi * self.diameter_mm**2 / 4
        if self.ring_mm:
            return area_mm2(self.ring_mm)
        return 4 * self.half_size_mm[0] * self.half_size_mm[1]


@dataclass(frozen=True)
class FlatFace:
    """A plane face between bend zones, counterclockwise; the number is the leg's, webs of offsets come after.

    Of a panel the base is 1, a flange its bend's number and one, a web comes after them; they have names.
    """

    number: int
    outline_mm: tuple[Point, ...]
    name: str = ""

    @property
    def from_mm(self) -> float:
        """Where it begins, from the start edge."""
        return self.outline_mm[0][1]

    @property
    def to_mm(self) -> float:
        """Where it ends, from the start edge."""
        return self.outline_mm[2][1]


@dataclass(frozen=True)
class BendZone:
    """The strip that a bend takes up on the blank, from face to face.

    `label` is the bend's number, or "3a" and "3b" for the two lines of an offset. `line_mm` are the two ends of the
    bend line in the middle of the zone; its width on the flat is the allowance. Where a cut-out parts the line it has
    `gaps_mm`, from the first end on.
    """

    bend: int
    label: str
    face_from: int
    face_to: int
    line_mm: tuple[Point, Point]
    turn_deg: float
    toward: bool
    inside_radius_mm: float
    allowance: Allowance
    gaps_mm: tuple[tuple[float, float], ...] = ()

    @property
    def length_mm(self) -> float:
        """How much of the line lies on the sheet."""
        return math.dist(*self.line_mm) - sum(to_mm - from_mm for from_mm, to_mm in self.gaps_mm)

    @property
    def runs_mm(self) -> tuple[tuple[Point, Point], ...]:
        """The stretches of the line on the sheet, from its first end on."""
        whole_mm = math.dist(*self.line_mm)
        ends_mm = (0.0, *(end for gap in self.gaps_mm for end in gap), whole_mm)
        (x, y), (to_x, to_y) = self.line_mm

        def at(along_mm: float) -> Point:
            share = along_mm / whole_mm
            return x + (to_x - x) * share, y + (to_y - y) * share

        return tuple((at(one), at(other)) for one, other in zip(ends_mm[::2], ends_mm[1::2], strict=True))

    @property
    def signed_turn_deg(self) -> float:
        """The turn, positive toward the marked face."""
        return self.turn_deg if self.toward else -self.turn_deg

    @property
    def width_mm(self) -> float:
        """How much of the blank it takes up across its line."""
        return self.allowance.allowance_mm


@dataclass(frozen=True, kw_only=True)
class OffsetZone(BendZone):
    """An offset of a panel as one strip, from the face it hangs on to that beyond its web.

    Its line lies in the middle between those of its two zones, `parts`, `apart_mm` from each other; its turn is the
    first one's.
    """

    parts: tuple[BendZone, BendZone]
    apart_mm: float

    @property
    def width_mm(self) -> float:
        """Both zones and the web between."""
        return self.apart_mm + self.allowance.allowance_mm

    def across_mm(self, thickness_mm: float) -> float:
        """From the outer end of one zone to that of the other, formed, along the sheet: 2 (r + t/2) sin A + w cos A."""
        turn = math.radians(self.turn_deg)
        web_mm = self.apart_mm - self.allowance.allowance_mm
        return 2 * (self.inside_radius_mm + thickness_mm / 2) * math.sin(turn) + web_mm * math.cos(turn)


def _as_one(first: BendZone, second: BendZone) -> OffsetZone:
    """The two zones of an offset as one strip."""
    (x, y), (to_x, to_y) = first.line_mm
    long_mm = math.dist(*first.line_mm)
    dx, dy = (to_x - x) / long_mm, (to_y - y) / long_mm
    off_x, off_y = second.line_mm[0][0] - x, second.line_mm[0][1] - y
    apart_mm = off_y * dx - off_x * dy
    along = [(px - x) * dx + (py - y) * dy for zone in (first, second) for px, py in zone.line_mm]
    ends = [(x + mm * dx - apart_mm / 2 * dy, y + mm * dy + apart_mm / 2 * dx) for mm in (min(along), max(along))]
    given = {**vars(first), "label": str(first.bend), "face_to": second.face_to, "line_mm": (ends[0], ends[1])}
    return OffsetZone(**given, parts=(first, second), apart_mm=apart_mm)


@dataclass(frozen=True)
class Blank:
    """What is cut and bent: faces and zones, the outline and holes to cut, area, mass and findings."""

    part: str
    thickness_mm: float
    faces: tuple[FlatFace, ...]
    zones: tuple[BendZone, ...]
    outline_mm: tuple[Point, ...]
    holes: tuple[FlatHole, ...]
    area_mm2: float
    mass_kg: float
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class PanelBlank(Blank):
    """The blank of a panel. Its coordinates are those of the base: the near left corner, as it is sized, at the origin.

    `bulges` go with the points of the outline: the tangent of a quarter of the arc's turn to the next point, positive
    counterclockwise, 0 for a straight line.
    """

    bulges: tuple[float, ...]

    @cached_property
    def joints(self) -> tuple[BendZone, ...]:
        """Its bends by their numbers, the two zones of an offset as one."""
        found: list[BendZone] = []
        for zone in self.zones:
            if found and found[-1].bend == zone.bend:
                found[-1] = _as_one(found[-1], zone)
            else:
                found.append(zone)
        return tuple(found)

    @property
    def corner_mm(self) -> Point:
        """The least coordinates of the outline."""
        return min(x for x, _ in self.outline_mm), min(y for _, y in self.outline_mm)

    @property
    def size_mm(self) -> tuple[float, float]:
        """What it measures along the base and across."""
        low = self.corner_mm
        high = max(x for x, _ in self.outline_mm), max(y for _, y in self.outline_mm)
        return high[0] - low[0], high[1] - low[1]

    @property
    def along_mm(self) -> float:
        """What it measures along the base."""
        return self.size_mm[0]

    @property
    def across_mm(self) -> float:
        """What it measures across the base."""
        return self.size_mm[1]

    @property
    def wants_two(self) -> bool:
        """Whether it is too heavy or too long for one pair of hands."""
        return _for_two(self.mass_kg, *self.size_mm)


def _for_two(mass_kg: float, *sides_mm: float) -> bool:
    return mass_kg > HEAVY_KG or max(sides_mm) > LONG_SIDE_MM


@dataclass(frozen=True)
class FinishedSize:
    """What a face of a drawn blank comes to, as outside sizes: one of a flange, along and across of the base.

    `size_mm` with the radii that form, `asked_mm` with those asked for, `wanted_mm` as the part's drawing has it.
    """

    face: str
    size_mm: tuple[float, ...]
    asked_mm: tuple[float, ...]
    wanted_mm: tuple[float, ...] = ()


@dataclass(frozen=True)
class DrawnPanelBlank(PanelBlank):
    """A panel's blank that is drawn: it is fixed, and the finished sizes follow. Coordinates are the drawing's.

    `lines_mm` are the bend lines as they are drawn, from edge to edge, in the order of the zones.
    """

    finished: tuple[FinishedSize, ...]
    lines_mm: tuple[tuple[Point, Point], ...]


@dataclass(frozen=True)
class FlatPattern(Blank):
    """The blank of a section: its faces and zones follow each other from the start edge."""

    developed_mm: float
    along_bends_mm: float

    @property
    def flats_mm(self) -> tuple[float, ...]:
        """The straight lengths of a section between its zones, from the start."""
        return tuple(face.to_mm - face.from_mm for face in self.faces)

    @property
    def diagonal_mm(self) -> float:
        """Corner to corner, for the check of squareness."""
        return math.hypot(self.along_bends_mm, self.developed_mm)

    @property
    def wants_two(self) -> bool:
        """Whether it is too heavy or too long for one pair of hands."""
        return _for_two(self.mass_kg, self.along_bends_mm, self.developed_mm)


class NoBlank(Exception):  # noqa: N818 - named for what the user is told, not for Python
    """Raised where the bends leave no blank with the radii given; holds the findings that refuse it."""

    def __init__(self, findings: Sequence[Finding]) -> None:
        self.findings = tuple(findings)
        super().__init__(self.findings)

    def __str__(self) -> str:
        return "; ".join(finding.text() for finding in self.findings)
