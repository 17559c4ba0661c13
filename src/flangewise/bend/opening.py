"""Which die opening a thickness asks for: the 6/8/10/12 t rule. Source: common practice."""

from __future__ import annotations

from .formula import Formula

OPENING_FORMULAS = (
    Formula(
        "die",
        "the usual opening 6/8/10/12 t, moved by radius, angle, legs and loads",
        "t {thickness_mm}, usual {opening_factor:0} t = {usual_opening_mm}{moved}",
        "common practice",
    ),
    Formula(
        "die_opening_mm",
        "distance of the points where the shoulder arcs meet the flat top",
        "outline of {die}, shoulder {shoulder_radius_mm}",
        "{die_source}",
    ),
)
"""How a die is chosen and its opening measured, as told."""


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
