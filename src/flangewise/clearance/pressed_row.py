"""What flat tools that stand along stretches of the bed forbid to a panel whose hem they flatten.

Source: the regions are those of `pressed`, the stretches those of `stretches`.
"""

from __future__ import annotations

from functools import lru_cache

from flangewise.clearance.bodies import Body, ToolStack
from flangewise.clearance.pressed import Slide, slid_region
from flangewise.clearance.region import BULGE_MM, Region
from flangewise.clearance.stretches import ToolRegions


@lru_cache(maxsize=64)
def pressed_regions(
    stack: ToolStack, slide: Slide, *, thickness_mm: float, reach_mm: float, behind: bool
) -> ToolRegions:
    """What the plates of a stack forbid to one wing on its way; `behind`: the body of the part lies behind."""
    bodies = stack.seen_from_behind() if behind and not stack.symmetric else stack.bodies

    def slid(own: tuple[Body, ...]) -> Region:
        region = slid_region(own, slide, thickness_mm=thickness_mm, reach_mm=reach_mm)
        return Region(region.sweeps, BULGE_MM)

    punch, die = (tuple(body for body in bodies if body.name == name) for name in ("punch", "die"))
    rest = tuple(body for body in bodies if body.name not in ("punch", "die"))
    return ToolRegions(slid(punch), None, slid(die), slid(rest))
