"""The stack of blanks: how many there are, for how long they last, and what may come up with the first one."""

import math
from typing import Any

from flangewise.records import dataclass
from flangewise.shop import Infeed

# Thinner sheets come up two at a time from a stack that is not parted; common practice.
TWO_COME_MM = 2.0


@dataclass(frozen=True)
class Stack:
    """What the infeed holds. `count` is None where neither height nor mass was entered, `governs` the one of them.

    `two_may_come`: thin sheets that nothing parts, or that nothing looks at. `missing`: what was not entered.
    """

    infeed: Infeed | None
    count: int | None
    high_mm: float | None
    governs: str | None
    refill_min: float | None
    two_may_come: bool
    missing: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """The same with its keys."""
        own = None if self.infeed is None else self.infeed.model_dump()
        return {**vars(self), "infeed": own, "missing": list(self.missing)}


def stack_of(infeed: Infeed | None, *, thickness_mm: float, part_kg: float, cycle_s: float) -> Stack:
    """The blanks of all stacks, and the minutes until they are used up at one every `cycle_s`."""
    if infeed is None:
        return Stack(None, None, None, None, None, False, ("infeed",))
    each_mm = thickness_mm + infeed.between_sheets_mm
    limits = {}
    if infeed.most_height_mm is not None:
        limits["height"] = math.floor(infeed.most_height_mm / each_mm)
    if infeed.most_kg is not None:
        limits["mass"] = math.floor(infeed.most_kg / part_kg)
    keys = ("separation", "double_check", "centring")
    missing = tuple(key for key in keys if getattr(infeed, key) is None)
    parted = infeed.separation not in (None, "none") and infeed.double_check not in (None, "none")
    two = thickness_mm < TWO_COME_MM and not parted
    if not limits:
        return Stack(infeed, None, None, None, None, two, ("most_height_mm", *missing))
    governs = min(limits, key=lambda name: limits[name])
    count = limits[governs] * infeed.stacks
    return Stack(infeed, count, limits[governs] * each_mm, governs, count * cycle_s / 60, two, missing)
