"""Answers of grippers: what they must hold with, how fast a held point goes, how near a punch they may be."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from functools import lru_cache

import numpy as np
import shapely

from flangewise.clearance import Body, Region, Stroke, swept_region
from flangewise.handling.follow import Rise
from flangewise.handling.holding_force import HeldMass, NeededForce, Pads, needed_force

from .source import Row

# A sheet without thickness, as far as a formula with thickness goes.
THIN_MM = 1e-4


def _pads(row: Row) -> Pads:
    kind = "jaw" if row.text("gripper") == "jaw" else "cups"
    side = row.mm("pad")
    return Pads(kind, side, side, rows_across=int(row.number("rows")), spacing_mm=row.mm("spacing"))


def _needs(row: Row) -> NeededForce:
    held = HeldMass(row.number("mass_kg"), row.mm("along"), 0.0, 0.0)
    return needed_force(
        held,
        _pads(row),
        friction=row.number("friction"),
        acceleration_m_per_s2=row.number("acceleration_m_per_s2"),
        factor=row.number("factor"),
    )


def _worst_cup(row: Row) -> float:
    needs = _needs(row)
    return (needs.level_n + needs.peel_n) / row.number("rows") / 1000


def _sharp(row: Row, turn_deg: float) -> Rise:
    """The stroke of a sharp sheet, its moments a twentieth of a degree apart."""
    stroke = Stroke(row.mm("opening"), 0.0, THIN_MM, -THIN_MM / 2, 0.0, turn_deg / 2)
    halves = np.linspace(0.0, turn_deg / 2, max(2, math.ceil(turn_deg * 10)) + 1)
    return Rise(stroke, halves, np.asarray(stroke.depth_mm(halves)), by_model=False)


def _speed(row: Row) -> float:
    """At a turn: over the last twentieth of a degree before it, or the first of all."""
    turn_deg = row.number("at_turn_deg")
    rise = _sharp(row, max(turn_deg, 1.0))
    places = rise.places_mm((row.mm("reach"), 0.0))
    at = len(places) - 2 if turn_deg else 0
    way, depth = places[at + 1] - places[at], rise.depths_mm[at + 1] - rise.depths_mm[at]
    return row.number("ram_mm_per_s") * float(np.hypot(*way) / depth)


def _rate(row: Row) -> float:
    rise = _sharp(row, 1.0)
    return row.number("ram_mm_per_s") * float(rise.halves_deg[1] / (rise.depths_mm[1] - rise.depths_mm[0]))


def _follow_ram(row: Row) -> float:
    return row.number("limit_mm_per_s") / _sharp(row, 90.0).speed_factor((row.mm("reach"), 0.0))


@lru_cache(maxsize=16)
def _region(half_mm: float, turn_deg: float) -> Region:
    """What a punch of even width sweeps as the leg sees it."""
    point = half_mm / math.tan(math.radians(42))
    punch = ((0.0, 0.0), (half_mm, point), (half_mm, 500.0), (-half_mm, 500.0), (-half_mm, point))
    stroke = Stroke(0.5, 0.0, THIN_MM, -THIN_MM / 2, 0.0, turn_deg / 2)
    return Region(swept_region((Body("punch", punch, True),), stroke, reach_mm=300.0).sweeps, 0.0)


def _beside_punch(row: Row) -> float:
    """The least distance at which a body does not strike, by halving."""
    region, height = _region(row.mm("half_width"), row.number("at_turn_deg")), row.mm("height")
    low, high = 0.0, 200.0
    while high - low > 0.01:
        middle = (low + high) / 2
        body = shapely.box(middle, 0.1, middle + 20.0, height)
        struck = bool(region.strikes(np.array([body], dtype=object))[0])
        low, high = (middle, high) if struck else (low, middle)
    return high


HOLDING_ANSWERS: Mapping[str, Callable[[Row], float]] = {
    "held_level": lambda row: _needs(row).level_n / 1000,
    "held_sideways": lambda row: _needs(row).sideways_n / 1000,
    "held_vertical": lambda row: _needs(row).vertical_n / 1000,
    "held_twist": lambda row: _needs(row).twist_n / 1000,
    "held_worst_cup": _worst_cup,
    "held_point_speed": _speed,
    "start_rate": _rate,
    "follow_ram": _follow_ram,
    "beside_punch": _beside_punch,
}
"""By the word of a quantity."""
