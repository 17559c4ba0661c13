"""What is wanted of a panel: a base, flanges on its edges, flanges on flanges; plain frozen records.

A place on a flange is (u, v): u along the edge it hangs on, from the left as seen from outside the part with the
marked face up, v outward from the mould line of its bend. On the base it is (x, y) from the near left corner.
"""

from collections.abc import Iterator
from typing import Literal

from flangewise.bend import Sizes
from flangewise.geometry import Point
from flangewise.part.bends import WantedBend
from flangewise.part.model import WantedHole
from flangewise.records import dataclass

CornerKind = Literal["open", "closed", "lapped"]
CornerReliefKind = Literal["none", "round", "square"]

BASE = "base"
BASE_FACE = 1
SIDES = ("near", "right", "far", "left")  # counterclockwise from the edge toward you


@dataclass(frozen=True)
class CornerRelief:
    """What is cut away at a corner that two bends reach: a circle's diameter or a square's side; None: by the rule."""

    kind: CornerReliefKind = "none"
    size_mm: float | None = None


@dataclass(frozen=True)
class Corner:
    """How two flanges end where they meet: the kind, the gap between them, the edges whose flanges lie over."""

    kind: CornerKind = "open"
    gap_mm: float = 0.5
    over: tuple[str, ...] = ()
    relief: CornerRelief = CornerRelief()


@dataclass(frozen=True)
class Slot:
    """The relief at an end of a bend that stands beside sheet: its width (None: by the rule), and how far it goes
    past the tangent line."""

    width_mm: float | None = None
    past_mm: float = 0.5


@dataclass(frozen=True)
class WantedFlange:
    """A face hung on an edge of another by one bend.

    `height_mm` is from the mould line to the tip, or to the mould line of the bend at its tip; `shape_mm` stands in
    its place, (u, v) from the left foot round to the right foot. It begins `from_mm` from the left end of its edge and
    ends at `to_mm`, or `inset_mm` before the right end. `mitre_deg`: its left and right end from square, inward;
    `mitred`: cut by the plane of the corner instead, `gap_mm` apart.
    """

    bend: WantedBend
    face: str
    on: str
    edge: str
    height_mm: float | None
    shape_mm: tuple[Point, ...] = ()
    from_mm: float = 0.0
    to_mm: float | None = None
    inset_mm: float = 0.0
    mitre_deg: tuple[float, float] = (0.0, 0.0)
    mitred: bool = False
    gap_mm: float = 0.5
    slot: Slot = Slot()
    flanges: tuple["WantedFlange", ...] = ()

    @property
    def number(self) -> int:
        """The number of its face: the base is 1, and the bend's number one more."""
        return self.bend.number + 1

    @property
    def edges(self) -> tuple[str, ...]:
        """The names of its edges from the left foot round to the right foot."""
        return tuple(f"edge {at}" for at in range(1, len(self.shape_mm))) or ("left", "tip", "right")

    @property
    def tip_mm(self) -> float:
        """How far it reaches from its mould line."""
        return max(v for _, v in self.shape_mm) if self.shape_mm else self.height_mm or 0.0

    def whole(self) -> Iterator["WantedFlange"]:
        """Itself and all that hangs on it, each before what hangs on it."""
        yield self
        for flange in self.flanges:
            yield from flange.whole()


@dataclass(frozen=True)
class Panel:
    """A base face with its flanges. `ring_mm` are the base's corners counterclockwise, `radii_mm` what rounds each,
    `edges` the names of the edges, the first from the first corner to the second."""

    ring_mm: tuple[Point, ...]
    radii_mm: tuple[float, ...]
    edges: tuple[str, ...]
    flanges: tuple[WantedFlange, ...]
    corners: tuple[tuple[str, Corner], ...] = ()
    every_corner: Corner = Corner()
    radius_mm: float | None = None
    sizes: Sizes = "outside"
    holes: tuple[WantedHole, ...] = ()

    def all_flanges(self) -> tuple[WantedFlange, ...]:
        """Every flange in the order of its bend's number."""
        return tuple(each for flange in self.flanges for each in flange.whole())

    @property
    def bends(self) -> tuple[WantedBend, ...]:
        """Every bend, in order."""
        return tuple(flange.bend for flange in self.all_flanges())

    def corner(self, one: str, other: str) -> Corner:
        """How the flanges on two edges of the base end where they meet."""
        named = self.corner_named(one, other)
        return self.every_corner if named is None else dict(self.corners)[named]

    def corner_named(self, one: str, other: str) -> str | None:
        """How the file names the corner between two edges, from either side; None where it names it not."""
        return next((name for name, _ in self.corners if set(name.split("/")) == {one, other}), None)

    def asked_radius_mm(self, bend: WantedBend) -> float | None:
        """The inside radius asked for of a bend; None where the tools give it."""
        return bend.radius_mm if bend.radius_mm is not None else self.radius_mm
