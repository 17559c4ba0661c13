"""How far the wings of a hit reach, how high they stand and what they weigh, for all sets of operations at once.

What is known of each face by the states of the bends on its way is read for every set and summed up.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from flangewise.panel_order.lying import lies
from flangewise.panel_order.problem import PanelProblem
from flangewise.panel_order.wings import Wing
from flangewise.records import dataclass
from flangewise.sequence import Hit as ToolHit, HoldRule, Lying, ToolOption, die_edges_mm
from flangewise.units import GRAVITY_M_PER_S2

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class WingSums:
    """One wing by set: how far it reaches out from the bend line and from where the zone begins, how far its farthest
    point is, how high it stands, flat and risen by half the turn, how deep it hangs, all over the middle of the sheet;
    its mass, and the sum of mass times distance from the bend line. `plain`: nothing of it is bent."""

    far_mm: Floats
    reach_mm: Floats
    top_mm: Floats
    risen_mm: Floats
    low_mm: Floats
    kg: float
    moment_kg_mm: Floats
    plain: Bools


def wing_sums(problem: PanelProblem, wing: Wing, sets: Ints, *, half_turn_deg: float, strip_mm: float) -> WingSums:
    """The sums of a wing for sets of operations, bit i for operation i; `strip_mm` is the length of the bend itself."""
    blank, half_mm = problem.blank, wing.half_zone_mm
    far, reach = np.full(len(sets), -np.inf), np.full(len(sets), -np.inf)
    top, risen, low = np.full(len(sets), -np.inf), np.full(len(sets), -np.inf), np.full(len(sets), np.inf)
    area, moment = 0.0, np.zeros(len(sets))
    plain = np.ones(len(sets), dtype=bool)
    sin, cos = math.sin(math.radians(half_turn_deg)), math.cos(math.radians(half_turn_deg))
    for face, branch in wing.branches.items():
        state = np.zeros(len(sets), dtype=np.int64)
        for at, bend in enumerate(branch.path):
            state |= (sets >> problem.place_of(bend) & 1) << at
        nodes = [lies(wing, face, each) for each in range(1 << len(branch.path))]
        ends = np.array(
            [
                (
                    each.far_mm,
                    each.reach_mm,
                    each.corners_mm[:, 1].max(),
                    (each.corners_mm @ (sin, cos)).max(),
                    each.corners_mm[:, 1].min(),
                    each.moment_mm3,
                )
                for each in nodes
            ]
        )[state]
        far, reach = np.maximum(far, ends[:, 0]), np.maximum(reach, ends[:, 1])
        top, risen, low = np.maximum(top, ends[:, 2]), np.maximum(risen, ends[:, 3]), np.minimum(low, ends[:, 4])
        area, moment = area + nodes[0].area_mm2, moment + ends[:, 5]
        plain &= state == 0
    # About the die's centre plane, with this side's half of the strip about to be bent.
    kg_per_mm2, strip_mm2 = blank.mass_kg / blank.area_mm2, half_mm * strip_mm
    moment = kg_per_mm2 * (moment + area * half_mm + strip_mm2 * half_mm / 2)
    return WingSums(far + half_mm, reach, top, risen, low, kg_per_mm2 * (area + strip_mm2), moment, plain)


def straight_pulls_mm(behind: WingSums, tools: ToolHit, *, thickness_mm: float) -> Floats:
    """Opening with which the part comes straight out to the front, by set, as it is reckoned of one."""
    half, radius_mm = math.radians(tools.loaded_turn_deg / 2), max(0.0, tools.formed_radius_mm)
    top = np.maximum(behind.top_mm, behind.risen_mm) + (radius_mm + thickness_mm / 2) * (1 - math.cos(half))
    edges_mm = die_edges_mm(ToolOption((tools,)))
    edge_mm = max(edges_mm[1], 0.0) if edges_mm is not None else 0.0
    slips_mm = edge_mm * math.tan(half) + (thickness_mm + radius_mm) * (1 / math.cos(half) - 1)
    top = np.where(behind.plain, np.minimum(top, slips_mm), top)
    pulled: Floats = np.maximum(top, 0.0) + np.maximum(-behind.low_mm, 0.0) + thickness_mm
    return pulled


def lying(front: WingSums, behind: WingSums, tools: ToolHit, rule: HoldRule, at: slice) -> Lying:
    """How the part lies on the die, for some sets."""
    whole_kg = front.kg + behind.kg
    centre_mm = (front.moment_kg_mm[at] - behind.moment_kg_mm[at]) / whole_kg
    weight_n = whole_kg * GRAVITY_M_PER_S2
    low, high = die_edges_mm(ToolOption((tools,))) or (-math.inf, math.inf)
    longest_mm = float(max(front.far_mm[0], behind.far_mm[0]))
    return Lying(
        front.far_mm[at],
        front.kg,
        behind.kg,
        np.maximum(low - centre_mm, 0.0) * weight_n / 1000,
        np.maximum(centre_mm - high, 0.0) * weight_n / 1000,
        small=rule.small_wish_s is not None and longest_mm < rule.least_mm,
    )
