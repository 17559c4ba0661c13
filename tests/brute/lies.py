"""How the part lies before a hit, level on the die: what the hold rule and the stroke's seconds ask of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from flangewise.shop import Handler

from .fold import Wing
from .rack import Blank, Choice

GRAVITY_M_PER_S2 = 9.81
MM3_PER_M3 = 1e9

# Seconds for all that a condition of the hold rule asks.
LACKING_S = 10.0


@dataclass(frozen=True)
class Lying:
    """`breach`: conditions of the hold rule broken; `wish_s`: what is wished for, and what a hold lacks."""

    front_mm: float
    reach_mm: float
    breach: float
    wish_s: float


def lying(
    blank: Blank, bend: int, choice: Choice | None, handler: Handler, front: Wing, back: Wing, kg_per_mm: float
) -> Lying:
    """Statics of a rigid body on the block's top, tipping over its edge; on no block (None) nothing tips."""
    half = blank.half_span_mm(bend)
    ahead, behind = front.developed_mm + half, back.developed_mm + half
    own = half * half / 2
    whole_mm = ahead + behind
    moments = [wing.moment_mm2 + half * wing.developed_mm + own for wing in (front, back)]
    centre = (moments[0] - moments[1]) / whole_mm
    low = choice.tools[0].die_edges_mm[0] if choice is not None else -math.inf
    tips_nm = max(low - centre, 0.0) * kg_per_mm * whole_mm * GRAVITY_M_PER_S2 / 1000
    front_mm = front.far_mm + half
    small = handler.small_hold_wish_s is not None and max(ahead, behind) < handler.least_hold_mm
    breach, missed = 0.0, 0.0
    lacking = (handler.least_hold_mm - front_mm) / max(handler.least_hold_mm, 1.0)
    if not small and lacking > 1e-9:
        breach, missed = 1.0, lacking
    over = (tips_nm - handler.most_behind_nm) / (handler.most_behind_nm + 1.0)
    if over > 1e-9:
        breach, missed = breach + 1, missed + over
    wish = handler.behind_wish_s * max(behind - ahead, 0.0) / whole_mm
    wish += ((handler.small_hold_wish_s or 0.0) if small else 0.0) + LACKING_S * missed
    return Lying(front_mm, max(front.reach_mm(half), back.reach_mm(half)), breach, wish)


def straight_pull_mm(blank: Blank, bend: int, choice: Choice, back: Wing) -> float:
    """The opening for a pull straight out: what stands up behind once the bend is made, over what hangs behind.

    Where nothing is bent behind, the wing slips out along its own slope over the block's front edge, if that is less.
    """
    t = blank.thickness_mm
    zones = blank.zones_of[bend]
    nominal_deg = 0.0 if len(zones) > 1 else min(89.0, abs(blank.turns_deg[zones[0]]) / 2)
    loaded = [(hit.loaded_turn_deg or 0.0) / 2 for hit in choice.hits if hit.kind in ("bend", "hem")]
    half = math.radians(min(89.0, max(loaded, default=0.0)))
    radius = max(0.0, blank.radii_mm[zones[0]])
    risen = max(back.top_mm(0.0), back.top_mm(nominal_deg))
    risen += (radius + t / 2) * (1 - math.cos(half))
    if back.formed is None:
        edge = max(choice.tools[0].die_edges_mm[1], 0.0)
        risen = min(risen, edge * math.tan(half) + (t + radius) * (1 / math.cos(half) - 1))
    return risen - back.low_mm + t
