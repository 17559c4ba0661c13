"""What can be in the way: bodies of tools and machine as true outlines, and the stack they make.

Fixed bodies (die, bed, lower holder) stand with the centre of the die opening on the die top at the
origin; bodies that move with the ram (punch, holder, ram) with the punch nose at the origin. Points are
(across, up) in mm, across positive toward the operator. Source: definitions.
"""

from functools import cached_property

from flangewise.geometry import Points
from flangewise.records import dataclass

Outline = tuple[tuple[float, float], ...]


def outline_of(points_mm: Points) -> Outline:
    """Points of an array as plain numbers."""
    return tuple((float(across), float(up)) for across, up in points_mm)


@dataclass(frozen=True)
class Body:
    """One body: its name in words ("punch", "holder", "ram", "die", "bed", "stop"), outline, and whether it moves."""

    name: str
    points_mm: Outline
    with_ram: bool

    @cached_property
    def symmetric(self) -> bool:
        """Whether front and back are alike."""
        corners = {(round(across, 6) + 0.0, round(up, 6) + 0.0) for across, up in self.points_mm}
        return corners == {(0.0 - across, up) for across, up in corners}

    def turned(self) -> "Body":
        """The body turned about the vertical: mirrored about across = 0."""
        return self._turned

    @cached_property
    def _turned(self) -> "Body":
        return Body(self.name, tuple((-across, up) for across, up in self.points_mm), self.with_ram)

    def lowered(self, by_mm: float) -> "Body":
        """The body so much further down."""
        return Body(self.name, tuple((across, up - by_mm) for across, up in self.points_mm), self.with_ram)


@dataclass(frozen=True)
class ToolStack:
    """Punch over die with all that holds them, as the sheet meets them.

    `opening_mm` is the tangent opening, `shoulder_radius_mm` that of the die's shoulders.
    `open_limit_mm` is the greatest gap from punch nose to die top that machine and tool heights leave
    (None: not limited). `levels_mm` is for offset tools only: how high above the die top the undersides
    of the wings behind and in front lie at the end of the stroke.
    """

    name: str
    punch: str
    die: str
    opening_mm: float
    shoulder_radius_mm: float
    bodies: tuple[Body, ...]
    turned: bool = False
    open_limit_mm: float | None = None
    levels_mm: tuple[float, float] = (0.0, 0.0)

    def seen_from_behind(self) -> tuple[Body, ...]:
        """The bodies mirrored, so that the wing behind is handled as if it were in front."""
        return tuple(body.turned() for body in self.bodies)

    @cached_property
    def symmetric(self) -> bool:
        """True when front and back of every body are alike: then the wings need one region, not two."""
        return all(body.symmetric for body in self.bodies)
