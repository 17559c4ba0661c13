"""What the toy tools allow, by plane geometry on real radii and over-bend.

The numbers a bend brings with it - inside radius formed, turn under load, zone on the flat - are what `bend` and `flat`
say of the toy sheet. Everything else is reckoned here: straight flanges tangent to the bend's outer arc and to the
shoulder arcs of the die, middle surface thickened by a disc of half the sheet less the 0.05 mm that counts as contact.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from functools import cache

from ..house.running import run
from .running import STRAIGHT, TOY

THICKNESS_MM = 1.5
DISC_MM = THICKNESS_MM / 2 - 0.05
OPENING_MM, SHOULDER_MM = 12.0, 0.5
DIE_HALF_MM, DIE_HEIGHT_MM, BED_HALF_MM = 20.0, 60.0, 60.0
# Half width of punch, clamp and ram, and how far above the nose the next one begins.
TIERS_MM = ((10.0, 100.0), (30.0, 140.0), (60.0, math.inf))


@dataclass(frozen=True)
class Bent:
    """A bend of the toy sheet with the straight punch: radius when released, turn under load, zone on the flat."""

    turn_deg: float
    radius_mm: float
    loaded_deg: float
    zone_mm: float

    @property
    def half_rad(self) -> float:
        """How far each wing stands at the bottom of the stroke."""
        return math.radians(self.loaded_deg / 2)

    @property
    def middle_mm(self) -> float:
        """From the end of a flat to the corner of the middle lines of the finished bend."""
        return (self.radius_mm + THICKNESS_MM / 2) * math.tan(math.radians(self.turn_deg / 2))

    @property
    def setback_mm(self) -> float:
        """The same to the corner of the outer faces."""
        return (self.radius_mm + THICKNESS_MM) * math.tan(math.radians(self.turn_deg / 2))

    @property
    def loaded_radius_mm(self) -> float:
        """Under load the same arc is turned further, so its radius is less."""
        return self.radius_mm * self.turn_deg / self.loaded_deg

    @property
    def reach_mm(self) -> float:
        """From the corner of the middle lines under load to the flat."""
        return (self.loaded_radius_mm + THICKNESS_MM / 2) * math.tan(self.half_rad)

    @property
    def corner_below_nose_mm(self) -> float:
        """How far that corner lies below the punch nose at the bottom of the stroke."""
        return (self.loaded_radius_mm + THICKNESS_MM / 2) / math.cos(self.half_rad) - self.loaded_radius_mm

    def flat_mm(self, outside_mm: float, ends: int) -> float:
        """The flat of a leg given by its outside size, with a bend at one end or at both."""
        return outside_mm - ends * self.setback_mm

    def outside_mm(self, middle_mm: float, ends: int) -> float:
        """Outside size of a leg whose middle lines run from corner to corner, or from edge to corner."""
        return middle_mm + ends * (self.setback_mm - self.middle_mm)

    def web_mm(self, outside_mm: float) -> float:
        """From the corner under load to the next corner, along the middle line of a leg between two bends."""
        return self.reach_mm + self.flat_mm(outside_mm, 2) + self.middle_mm

    def edge_mm(self, outside_mm: float) -> float:
        """From a finished corner to the free edge, along the middle line."""
        return self.flat_mm(outside_mm, 1) + self.middle_mm

    def laid_mm(self, outside_mm: float) -> float:
        """From the die's centre plane to the next corner, along a leg between two bends laid flat for bending."""
        return self.zone_mm / 2 + self.flat_mm(outside_mm, 2) + self.middle_mm


@cache
def bent(turn_deg: float = 90.0) -> Bent:
    """What `bend` and `flat` say of a bend of the toy sheet."""
    tools = ("--punch", STRAIGHT[0], "--die", STRAIGHT[1])
    asked = ("--material", "toy", "--thickness", "1.5", "--turn", str(turn_deg), *tools, "--format", "json")
    _, out, err = run("--shop", str(TOY), "bend", *asked)
    assert out, err
    told = json.loads(out)
    return Bent(turn_deg, told["formed_radius_mm"], told["loaded_turn_deg"], told["allowance_mm"])


def channel_leg_mm(web_outside_mm: float) -> float:
    """The longest outside leg of a channel with square flanges: its edge passes punch, clamp or ram.

    A wing of web w and leg l ends at (w cos a - l sin a, w sin a + l cos a) from the corner under load. It passes where
    for some tier it is outside that tier and below the next one.
    """
    at, a = bent(), bent().half_rad
    web = at.web_mm(web_outside_mm)
    longest = []
    for half_width, next_above in TIERS_MM:
        beside = (web * math.cos(a) - half_width - DISC_MM) / math.sin(a)
        below = (next_above - DISC_MM + at.corner_below_nose_mm - web * math.sin(a)) / math.cos(a)
        longest.append(min(beside, below))
    return max(longest) - at.middle_mm + at.setback_mm


def corner_clear_mm(radius_mm: float) -> float:
    """How far beyond the die's top corner the middle line of a leg hanging down must stand.

    Its bend curls round the corner: the arc's centre is a radius below the die's top, and the corner must stay a disc
    away from the arc.
    """
    middle = radius_mm + THICKNESS_MM / 2
    return middle - math.sqrt((middle - DISC_MM) ** 2 - radius_mm**2)


def zed_web_mm(beside_mm: float, clear_mm: float) -> float:
    """The shortest outside web of a Z whose first flange hangs beside a block `beside_mm` from the centre plane."""
    at = bent()
    return beside_mm + clear_mm - at.zone_mm / 2 - at.middle_mm + 2 * at.setback_mm


def lipped_web_mm(lip_outside_mm: float, leg_outside_mm: float) -> float:
    """The narrowest outside web of a lipped channel whose last bend must pass the tip of the other lip by the punch."""
    at, a = bent(), bent().half_rad
    lip, leg = at.edge_mm(lip_outside_mm), at.flat_mm(leg_outside_mm, 2) + 2 * at.middle_mm
    web = (TIERS_MM[0][0] + DISC_MM + leg * math.sin(a)) / math.cos(a) + lip
    return web - at.reach_mm - at.middle_mm + 2 * at.setback_mm


def least_leg_mm() -> float:
    """The shortest outside leg that still lies on the die's shoulder at the end of the stroke, flanges straight."""
    at, a = bent(), bent().half_rad
    radius = at.loaded_radius_mm
    away = (OPENING_MM / 2 - (SHOULDER_MM + radius + THICKNESS_MM) * math.sin(a)) / math.cos(a)
    return (radius + THICKNESS_MM / 2) * a + away + (2 * at.setback_mm - at.zone_mm) / 2


def standing_mm(leg_outside_mm: float) -> float:
    """How high a free leg behind stands above the punch nose at the bottom of the stroke: its upper corner."""
    at, a = bent(), bent().half_rad
    along = at.reach_mm + at.flat_mm(leg_outside_mm, 1)
    return along * math.sin(a) - at.corner_below_nose_mm + THICKNESS_MM / 2 * math.cos(a)
