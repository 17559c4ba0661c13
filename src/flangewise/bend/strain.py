"""The outermost fibre of a bend: how far it stretches, and the radius that its metal can take by that measure."""

from __future__ import annotations


def outer_strain(radius_mm: float, thickness_mm: float) -> float:
    """Strain of the outer face over a mid-plane that keeps its length: 1/(2R/T + 1), a pure number.

    Radius 0 gives 1. Thickness must be above zero.
    Source: Kalpakjian and Schmid, Manufacturing Engineering and Technology, 6th ed. SI, equation 16.4 (from memory).

    >>> outer_strain(2.0, 1.0)
    0.2
    """
    return 1 / (2 * radius_mm / thickness_mm + 1)


def least_radius_by_area_mm(thickness_mm: float, area_reduction: float) -> float:
    """Least inside radius by the reduction of area of a tensile test: T (0.5/q - 1), never below 0.

    area_reduction is the fraction q of the area lost at the neck, above 0 up to 1 (ValueError else). From 0.5 on the
    sheet can be folded on itself. It is coarse: it knows no grain, edge or temper, so a table of the metal goes first.
    Source: Kalpakjian and Schmid, Manufacturing Engineering and Technology, 6th ed. SI, p. 418, equation 16.5,
    written there as T (50/r - 1) with r in percent; 0.5 in plate of 10 % gives 2.0 in.

    >>> least_radius_by_area_mm(0.5, 0.2)      # any unit of length
    0.75
    """
    if not 0 < area_reduction <= 1:
        raise ValueError(f"the reduction of area is a fraction above 0 up to 1, not {area_reduction:g}")
    return thickness_mm * max(0.0, 0.5 / area_reduction - 1)
