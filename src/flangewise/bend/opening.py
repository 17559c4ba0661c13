"""Which die opening a thickness asks for: the 6/8/10/12 t rule, and what the force charts print beside it."""

from __future__ import annotations

from collections.abc import Sequence

CHART_LEAST_LEG_SHARE = 0.70
"""Smallest outside leg at 90 degrees as a share of V (a tool maker's force chart, b/V 0.67 to 0.75)."""

CHART_RADIUS_SHARE = 0.163
"""Inside radius as a share of V at 90 degrees (same chart, ir/V 0.156 to 0.175)."""


def opening_factor(thickness_mm: float) -> float:
    """Usual die opening as a multiple of thickness: 6 up to 2.6 mm, 8 up to 8, 10 below 12, 12 from 12 mm.

    Source: common practice. Printed prints differ at the joints: one has 6t to 2.5, 8t from 3 to 8, 10t at 9 and 10,
    12t from 12; another 6t to 2.6, 8t from 3 to 8, 10t from 9 to 12, 12t from 14.
    """
    if thickness_mm <= 2.6:
        return 6.0
    if thickness_mm <= 8.0:
        return 8.0
    return 10.0 if thickness_mm < 12.0 else 12.0


def usual_opening_mm(thickness_mm: float) -> float:
    """Die opening by the 6/8/10/12 t rule.

    >>> [usual_opening_mm(t) for t in (1, 4, 10, 15)]
    [6.0, 32.0, 100.0, 180.0]
    """
    return opening_factor(thickness_mm) * thickness_mm


def opening_order(openings_mm: Sequence[float], thickness_mm: float) -> list[int]:
    """Indices of the openings at hand, the nearest to the rule's first.

    Nearness is by ratio: a die half as wide is as far off as one twice as wide. Of two as near the wider comes
    first, being the gentler. Nothing at hand gives an empty list.
    """
    wanted_mm = usual_opening_mm(thickness_mm)

    def distance(index: int) -> tuple[float, float]:
        opening_mm = openings_mm[index]
        return (max(opening_mm / wanted_mm, wanted_mm / opening_mm), -opening_mm)

    return sorted(range(len(openings_mm)), key=distance)


def chart_least_leg_mm(opening_mm: float) -> float:
    """Least outside leg of a 90-degree bend by the charts, 0.70 V: a check on the computed one, nothing more."""
    return CHART_LEAST_LEG_SHARE * opening_mm


def chart_radius_mm(opening_mm: float) -> float:
    """Inside radius of a 90-degree air bend by the charts, 0.163 V, for every metal: a check, nothing more.

    Others say 0.20 to 0.22 V for austenitic stainless and 0.13 to 0.15 V for aluminium of middling strength.
    """
    return CHART_RADIUS_SHARE * opening_mm
