"""A drawn blank as data: its rings, its bend lines, its faces, and what a part file says beside the drawing.

All in mm in the drawing's own frame, marked face up; every ring counterclockwise, its first point not said again.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal

from flangewise.findings import Finding
from flangewise.geometry import Point
from flangewise.records import dataclass, field
from flangewise.shop import LayerNames

Ring = tuple[Point, ...]
Run = tuple[Point, Point]
# Who says a bend's turn: an entry of the part file, a text beside the line, or what the file says of all other lines.
SaidBy = Literal["entry", "text", "file"]


@dataclass(frozen=True)
class LineBend:
    """The turn of a bend line, always positive, and its inside radius where one is named."""

    turn_deg: float
    radius_mm: float | None = None


@dataclass(frozen=True)
class BendEntry:
    """What a part file says of the bend line nearest to a point; what it leaves out is said by text or file."""

    near_mm: Point
    turn_deg: float | None = None
    radius_mm: float | None = None


@dataclass(frozen=True)
class DrawnWish:
    """What a part file says of its drawing.

    `units` (mm or inch) as the file writes it, None where it does not. `bend` holds for each line that says nothing
    else. `base_mm` is a point of the base; None for the largest face.
    """

    units: str | None = None
    layers: LayerNames = field(default_factory=LayerNames)
    bend: LineBend | None = None
    entries: tuple[BendEntry, ...] = ()
    base_mm: Point | None = None


@dataclass(frozen=True)
class DrawnLine:
    """A bend line: the middle of a bend zone, from edge to edge of the sheet.

    Lines count from 1, from the near edge on, from the left. From `start_mm` to `end_mm` the face that hangs on it lies
    on the left. `runs_mm` are its stretches on the sheet: more than one where a cut-out parts it. `toward` goes to the
    marked face. `entry` is the place in the wish's entries of the one that speaks of this line.
    """

    number: int
    start_mm: Point
    end_mm: Point
    runs_mm: tuple[Run, ...]
    toward: bool
    bend: LineBend
    said_by: SaidBy
    entry: int | None
    face_from: int
    face_to: int


@dataclass(frozen=True)
class DrawnFace:
    """A face between bend lines; the base is 1, the others count outward from it. Half the zones are still on it."""

    number: int
    outline_mm: Ring
    cutouts_mm: tuple[Ring, ...]


@dataclass(frozen=True)
class DrawnBlank:
    """The blank: outline, cut-outs, the base and what hangs on it, and notes for the user.

    `lines` are in the order of their numbers; each parts two of the `faces`, which are a tree from the base outward.
    """

    outline_mm: Ring
    cutouts_mm: tuple[Ring, ...]
    lines: tuple[DrawnLine, ...]
    faces: tuple[DrawnFace, ...]
    findings: tuple[Finding, ...]

    @property
    def area_mm2(self) -> float:
        """What is left of the sheet: the outline less its cut-outs."""
        return ring_area_mm2(self.outline_mm) - sum(ring_area_mm2(ring) for ring in self.cutouts_mm)


class Undrawn(Exception):  # noqa: N818 - named for what the user is told, not for Python
    """Raised where a drawing cannot be used; holds every fault found, and the notes made on the way."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = tuple(findings)
        super().__init__(self.findings)

    def __str__(self) -> str:
        told = ((finding.place(), finding.text()) for finding in self.findings if finding.severity == "refuse")
        return "\n".join(": ".join(filter(None, pair)) for pair in told)


def ring_area_mm2(ring: Sequence[Point]) -> float:
    """Area inside a ring, positive where it goes counterclockwise (half the sum of its cross products)."""
    pairs = zip(ring, (*ring[1:], *ring[:1]), strict=True)
    return sum(x_mm * v_mm - u_mm * y_mm for (x_mm, y_mm), (u_mm, v_mm) in pairs) / 2
