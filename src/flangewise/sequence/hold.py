"""How the part lies on the die before a hit: what reaches out for the hand, what hangs behind, whether it tips.

The wings before the hit, level on the die's top. The sheet's mass goes with its developed length, so a formed piece
weighs what it weighed flat. Moments are about the die block's edge that the part would tip over: statics of a rigid
body. The fingers touch the rearmost edge or face from behind and have nothing above them: they hold nothing up.
Limits are common practice.
"""

import math
from functools import lru_cache
from typing import Literal

import numpy as np

from flangewise.clearance import Body
from flangewise.records import dataclass
from flangewise.sequence.arrays import Bools, Floats
from flangewise.sequence.problem import HoldRule, Operation, SectionProblem, ToolOption
from flangewise.units import GRAVITY_M_PER_S2

Held = Literal["hand", "jaw", "tool", "support"]

# More than any plan costs in seconds: an order that breaks the hold rule less always comes first.
BREACH_S = 1e5
# Of orders that break it alike the one that misses less is wished for, by so much for all of what is asked (judgement):
# nobody takes other tools for a hair more to hold.
LACKING_S = 10.0
# A part whose weight turns it by less than this balances on the die's edge: to which side is a matter of rounding.
BALANCED_NM = 1e-6
# Lengths of sheet that are the same on paper differ by less.
ROUNDING_MM = 1e-6
# The die block's top is looked for this near its highest points.
TOP_MM = 1.0


Tipping = Literal["front", "behind"]


@dataclass(frozen=True)
class Hold:
    """How the part is held at one step.

    `front_mm`: how far it reaches out in front of the die's centre plane, on its middle surface. `moment_nm`: the
    moment of its weight about the die block's edge it would tip over, 0 where it lies by itself; `tips` to which side.
    `by`: what holds it: the hand, a gripper's jaw, a tool (or magnet, or side guide) where too little is in front for
    either, a support where it would tip off behind. `breach`: how many of its conditions are broken.
    """

    front_mm: float
    front_kg: float
    behind_kg: float
    moment_nm: float
    tips: Tipping | None
    by: Held
    breach: float = 0.0
    little_in_front: bool = False

    @property
    def told_front_mm(self) -> float:
        """What is told to lie in front, rounded down to a millimetre: so much of it lies there."""
        return float(math.floor(self.front_mm + ROUNDING_MM))


def die_edges_mm(option: ToolOption) -> tuple[float, float] | None:
    """Back and front edge of the die block's top, None for tools without a body."""
    return _die_edges_mm(next((body for body in option.hits[0].stack.bodies if body.name == "die"), None))


@lru_cache(maxsize=256)
def _die_edges_mm(die: Body | None) -> tuple[float, float] | None:
    points = () if die is None else die.points_mm
    top = max((up for _, up in points), default=0.0)
    across = [across for across, up in points if up >= top - TOP_MM]
    return (min(across), max(across)) if across else None


def half_span_mm(problem: SectionProblem, operation: Operation) -> float:
    """From the middle of an operation's zones to the wing beside them, flat."""
    chain, zones = problem.chain, operation.zones
    inner = chain.flats_mm[zones[0] + 1 : zones[-1] + 1]
    return (sum(chain.zones_mm[zone] for zone in zones) + sum(inner)) / 2


def developed_mm(problem: SectionProblem, operation: Operation) -> tuple[float, float]:
    """Developed length from the middle of an operation to the start edge, and to the end edge."""
    chain, half = problem.chain, half_span_mm(problem, operation)
    first, last = operation.zones[0], operation.zones[-1]
    toward_start = sum(chain.flats_mm[: first + 1]) + sum(chain.zones_mm[:first]) + half
    toward_end = sum(chain.flats_mm[last + 1 :]) + sum(chain.zones_mm[last + 1 :]) + half
    return toward_start, toward_end


@dataclass(frozen=True)
class Lying:
    """Parts on the die, one an entry: how far out in front, the masses, and the moments to each side.

    `small`: too small for a hand at this bend, whichever way it lies, even flat.
    """

    front_mm: Floats
    front_kg: float | Floats
    behind_kg: float | Floats
    behind_nm: Floats
    ahead_nm: Floats
    small: bool | Bools

    def at_best(
        self,
        rule: HoldRule,
        *,
        further_mm: Floats,
        off_mm: Floats,
        developed_mm: Floats,
        longest_mm: tuple[Floats, Floats],
    ) -> "Lying":
        """How they lie at best where the front may be further out by so much, any point off, and any length of sheet.

        A formed bend may stand where it is thought to and yet have taken up more sheet, or less. `longest_mm`: what the
        longer side is long at least, and at most.
        """
        off_kg, off_mm = rule.kg_per_mm * developed_mm, np.maximum(off_mm, developed_mm)
        weight_n = (self.front_kg + self.behind_kg) * GRAVITY_M_PER_S2
        least_mm, most_mm = longest_mm
        perhaps_small = (rule.small_wish_s is not None) & (least_mm < rule.least_mm + ROUNDING_MM)
        return Lying(
            self.front_mm + np.where(perhaps_small, rule.least_mm, further_mm),
            self.front_kg + off_kg,
            self.behind_kg - off_kg,
            np.maximum(self.behind_nm - weight_n * off_mm / 1000, 0.0),
            self.ahead_nm,
            small=self.small & (most_mm < rule.least_mm - ROUNDING_MM),
        )


def lying(
    rule: HoldRule,
    *,
    half_mm: float | Floats,
    ahead_mm: float | Floats,
    back_mm: float | Floats,
    edges_mm: tuple[float | Floats, float | Floats] | None,
    far_mm: Floats,
    moments_mm2: tuple[Floats, Floats],
) -> Lying:
    """How parts lie whose wing in front reaches `far_mm` from its edge; `moments_mm2` of that wing and the one behind.

    `ahead_mm` and `back_mm` are their developed lengths.
    """
    first = half_mm**2 / 2
    ahead = moments_mm2[0] + half_mm * (ahead_mm - half_mm) + first
    behind = moments_mm2[1] + half_mm * (back_mm - half_mm) + first
    whole = ahead_mm + back_mm
    weight_n = rule.kg_per_mm * whole * GRAVITY_M_PER_S2
    centre_mm = (ahead - behind) / whole
    low, high = edges_mm if edges_mm is not None else (-np.inf, np.inf)
    return Lying(
        far_mm + half_mm,
        rule.kg_per_mm * ahead_mm,
        rule.kg_per_mm * back_mm,
        np.maximum(low - centre_mm, 0.0) * weight_n / 1000,
        np.maximum(centre_mm - high, 0.0) * weight_n / 1000,
        small=(rule.small_wish_s is not None) & (np.maximum(ahead_mm, back_mm) < rule.least_mm),
    )


def _lacking(rule: HoldRule, lies: Lying) -> tuple[Floats, Floats]:
    """The shares by which each condition is missed, 0 where it is kept: what is in front, and what tips off behind."""
    front = (rule.least_mm - lies.front_mm) / max(rule.least_mm, 1.0)
    over = (lies.behind_nm - rule.most_behind_nm) / (rule.most_behind_nm + 1.0)
    little: Floats = np.where((front > 1e-9) & np.logical_not(lies.small), front, 0.0)
    return little, np.where(over > 1e-9, over, 0.0)


def breaches(rule: HoldRule, lies: Lying) -> Floats:
    """How many conditions of the rule are broken."""
    little, over = _lacking(rule, lies)
    return (little > 0).astype(float) + (over > 0)


def wishes_s(rule: HoldRule, lies: Lying) -> Floats:
    """What a step costs for the heavier side behind, for a part held with a tool, and for what a broken rule lacks."""
    behind = np.maximum(lies.behind_kg - lies.front_kg, 0.0) / (lies.behind_kg + lies.front_kg)
    wishes: Floats = rule.behind_wish_s * behind + np.where(lies.small, rule.small_wish_s or 0.0, 0.0)
    return wishes + LACKING_S * sum(_lacking(rule, lies))


def weights_s(rule: HoldRule, lies: Lying) -> Floats:
    """The same, with what a broken rule weighs beside seconds."""
    return wishes_s(rule, lies) + BREACH_S * breaches(rule, lies)


def held(rule: HoldRule, lies: Lying) -> Hold:
    """One part on the die, as the setter is told of it."""
    broken = float(np.ravel(breaches(rule, lies))[0])
    front_mm, front_kg, behind_kg, behind_nm, ahead_nm = (
        float(np.ravel(row)[0]) for row in (lies.front_mm, lies.front_kg, lies.behind_kg, lies.behind_nm, lies.ahead_nm)
    )
    little = not lies.small and front_mm < rule.least_mm - 1e-9 * max(rule.least_mm, 1.0)
    own: Held = "jaw" if rule.small_wish_s is None else "tool" if lies.small else "hand"
    tips: Tipping | None = "behind" if behind_nm > BALANCED_NM else "front" if ahead_nm > BALANCED_NM else None
    return Hold(
        front_mm=front_mm,
        front_kg=front_kg,
        behind_kg=behind_kg,
        moment_nm=max(behind_nm, ahead_nm),
        tips=tips,
        by="support" if behind_nm > rule.most_behind_nm else "tool" if little else own,
        breach=broken,
        little_in_front=little,
    )


def keeps(rule: HoldRule, hold: Hold) -> bool:
    """Whether a part that lies so keeps another rule, small parts held with a tool."""
    if hold.tips == "behind" and hold.moment_nm > rule.most_behind_nm:
        return False
    return hold.front_mm >= rule.least_mm - 1e-9 * max(rule.least_mm, 1.0)
