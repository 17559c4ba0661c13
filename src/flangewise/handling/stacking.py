"""Finished sections in stacks and in pairs, each looked at by its outline before it is told."""

from collections.abc import Sequence
from dataclasses import replace

from flangewise.clearance import is_clear, moved
from flangewise.handling.nesting import Nest, Paired, Point, Ring, nest, paired, turned

# So many of a stack are looked at: one more lies as the one before.
LOOKED_AT = 3


def stacked(outline_mm: Ring, flats_mm: Sequence[tuple[Point, Point]], thickness_mm: float) -> Nest:
    """How the sections nest; where outlines at that pitch share room, each is taken at its full height."""
    found = nest(outline_mm, flats_mm, thickness_mm)
    lying = turned(outline_mm, found.turned_deg)
    places = [(0.0, found.pitch_mm * nth) for nth in range(LOOKED_AT)]
    return found if is_clear(moved(lying, places)) else replace(found, pitch_mm=found.high_mm)


def stood_in_pairs(
    outline_mm: Ring, flats_mm: Sequence[tuple[Point, Point]], thickness_mm: float, *, radius_mm: float
) -> Paired | None:
    """Channels in opposed pairs; None for other sections, and where neighbours at these places share room."""
    found = paired(outline_mm, flats_mm, thickness_mm=thickness_mm, radius_mm=radius_mm)
    if found is None:
        return None
    up, down = found.places_mm
    neighbours = [*moved(found.outline_mm, up), *moved(found.outline_mm, down, half_turn=True)]
    return found if is_clear(neighbours) else None
