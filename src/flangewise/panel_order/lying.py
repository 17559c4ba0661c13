"""How a panel lies before a hit: masses and moments of its faces and bends, how far it reaches, what must pass.

A face weighs what it weighs on the blank, its holes left out, at its centroid; a bend weighs what its strip does, at
the middle of its arc. Source: statics of a rigid body; centroids of polygons, textbook (from memory).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from flangewise.geometry import Fold, Frame, Points, area_mm2 as ring_area_mm2
from flangewise.panel_order.wings import PanelShapes, Wing
from flangewise.records import dataclass
from flangewise.sequence import Hold, HoldRule, Lying, ToolOption, die_edges_mm, held
from flangewise.units import GRAVITY_M_PER_S2

if TYPE_CHECKING:
    from flangewise.panel_order.hit import SpaceHit

# The middle of an arc is that of so many chords.
CHORDS = 24


def face_mass(shapes: PanelShapes, face: int) -> tuple[float, tuple[float, float]]:
    """Area of a face without its holes, mm2, and its centroid on the blank."""
    blank = shapes.blank
    ring = next(each.outline_mm for each in blank.faces if each.number == face)
    area, (x, y) = ring_area_mm2(ring), _centroid(np.array(ring))
    for hole in blank.holes:
        if hole.face == face:
            left = area - hole.area_mm2
            x = (x * area - hole.centre_mm[0] * hole.area_mm2) / left
            y = (y * area - hole.centre_mm[1] * hole.area_mm2) / left
            area = left
    return area, (x, y)


def _centroid(ring: Points) -> tuple[float, float]:
    x, y = (ring - ring[0]).T
    cross = x * np.roll(y, -1) - np.roll(x, -1) * y
    six_areas = 3 * cross.sum()
    across = ((x + np.roll(x, -1)) * cross).sum() / six_areas, ((y + np.roll(y, -1)) * cross).sum() / six_areas
    return float(ring[0, 0] + across[0]), float(ring[0, 1] + across[1])


def bend_mass(shapes: PanelShapes, by: int, *, bent: bool) -> tuple[float, tuple[float, float, float]]:
    """Area of a zone's strip, mm2, and the middle of it, flat or bent, the face it hangs on lying on the blank."""
    zone = shapes.zones[by]
    hinge, length_mm = shapes.hinges[by], math.dist(*zone.line_mm)
    turn_deg = hinge.turn_deg if bent else 0.0
    fold = Fold(shapes.blank.thickness_mm, hinge.face_from, (hinge,), (turn_deg,), {hinge.face_from: Frame()})
    arc = fold.arc_mm(0, length_mm / 2, chords=2 * CHORDS)[1::2].mean(axis=0)
    return length_mm * zone.allowance.allowance_mm, (float(arc[0]), float(arc[1]), float(arc[2]))


@dataclass(frozen=True)
class Lies:
    """How one face with the bend that leads to it lies in its wing.

    Its area and the moment of it about where the bend zone begins, how far out it reaches from there, how far from the
    bend line, and its corners (outward, up).
    """

    area_mm2: float
    moment_mm3: float
    far_mm: float
    reach_mm: float
    corners_mm: Points


def lies(wing: Wing, face: int, state: int) -> Lies:
    """One face in one state, kept."""
    key = face, state
    if key not in wing.lies:
        masses = wing.shapes.masses
        if face not in masses:
            masses[face] = face_mass(wing.shapes, face)
        area, (x, y) = masses[face]
        moment = area * float(wing.frame(face, state).place([(x, y, 0.0)])[0, 1])
        leads = wing.leading(face, state)
        if leads is not None:
            zone, bent, frame = leads
            strips = wing.shapes.strips
            if (zone, bent) not in strips:
                strips[zone, bent] = bend_mass(wing.shapes, zone, bent=bent)
            strip, middle = strips[zone, bent]
            area, moment = area + strip, moment + strip * float(frame.place([middle])[0, 1])
        corners = wing.corners_mm(face, state)[:, 1:]
        reach_mm = float(np.hypot(corners[:, 0] + wing.half_zone_mm, corners[:, 1]).max())
        wing.lies[key] = Lies(area, moment, float(corners[:, 0].max()), reach_mm, corners)
    return wing.lies[key]


def _all(wing: Wing, done: frozenset[int]) -> list[Lies]:
    return [lies(wing, *node) for node in wing.nodes(done)]


def area_mm2(wing: Wing, done: frozenset[int]) -> float:
    """How much sheet a wing is of."""
    return sum(each.area_mm2 for each in _all(wing, done))


def front_mm(hit: SpaceHit, done: frozenset[int]) -> float:
    """How far the part reaches out in front of the die's centre plane, on its middle surface."""
    return max(each.far_mm for each in _all(hit.front, done)) + hit.operation.half_zone_mm


def reach_mm(hit: SpaceHit, done: frozenset[int]) -> float:
    """How far the part reaches from the bend line before the hit, to either side."""
    return max(each.reach_mm for wing in (hit.front, hit.behind) for each in _all(wing, done))


def straight_pull_mm(hit: SpaceHit, done: frozenset[int]) -> float:
    """Opening with which the part comes straight out to the front, as `sequence` reckons it of sections.

    What stands up behind, before the hit or risen with its wing, over what hangs down there. A wing behind without
    bends slips out along its own slope over the die block's front edge, where that takes less.
    """
    thickness_mm, half = hit.shapes.blank.thickness_mm, math.radians(hit.tools.loaded_turn_deg / 2)
    corners = np.concatenate([each.corners_mm for each in _all(hit.behind, done)])
    risen_mm = float((corners[:, 0] * math.sin(half) + corners[:, 1] * math.cos(half)).max())
    radius_mm = max(0.0, hit.tools.formed_radius_mm)
    top_mm = max(float(corners[:, 1].max()), risen_mm) + (radius_mm + thickness_mm / 2) * (1 - math.cos(half))
    if not any(state for _, state in hit.behind.nodes(done)):
        edges_mm = die_edges_mm(ToolOption((hit.tools,)))
        edge_mm = max(edges_mm[1], 0.0) if edges_mm is not None else 0.0
        slips_mm = edge_mm * math.tan(half) + (thickness_mm + radius_mm) * (1 / math.cos(half) - 1)
        top_mm = min(top_mm, slips_mm)
    return max(0.0, top_mm) + max(0.0, -float(corners[:, 1].min())) + thickness_mm


def hold(hit: SpaceHit, done: frozenset[int], rule: HoldRule) -> Hold:
    """How the part is held before the hit: as `sequence.Hold` has it of a section."""
    blank, half_mm = hit.shapes.blank, hit.operation.half_zone_mm
    kg_per_mm2 = blank.mass_kg / blank.area_mm2
    strip_mm2 = half_mm * sum(high - low for low, high in hit.runs_mm)
    masses = []
    for wing in (hit.front, hit.behind):
        every = _all(wing, done)
        area, moment = sum(each.area_mm2 for each in every), sum(each.moment_mm3 for each in every)
        # About the die's centre plane, with this side's half of the strip about to be bent.
        moment += area * half_mm + strip_mm2 * half_mm / 2
        masses.append((kg_per_mm2 * (area + strip_mm2), kg_per_mm2 * moment))
    (front_kg, ahead), (behind_kg, behind) = masses
    weight_n = (front_kg + behind_kg) * GRAVITY_M_PER_S2
    centre_mm = (ahead - behind) / (front_kg + behind_kg)
    low, high = die_edges_mm(ToolOption((hit.tools,))) or (-math.inf, math.inf)
    flat: frozenset[int] = frozenset()
    longest_mm = half_mm + max(each.far_mm for wing in (hit.front, hit.behind) for each in _all(wing, flat))
    lying = Lying(
        np.array([front_mm(hit, done)]),
        front_kg,
        behind_kg,
        np.array([max(low - centre_mm, 0.0) * weight_n / 1000]),
        np.array([max(centre_mm - high, 0.0) * weight_n / 1000]),
        small=rule.small_wish_s is not None and longest_mm < rule.least_mm,
    )
    return held(rule, lying)
