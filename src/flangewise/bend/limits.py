"""How far a pair can bend, and where the process model has been compared with anything.

Figures only; what is made of them is decided where tools are chosen.
"""

from __future__ import annotations

from typing import Literal

from .hand import contact_length_mm
from .records import AirBend, BendSetup

DIE_WALL_GAP_DEG = 1.0
"""Turn kept between the flange and the die's wall (common practice)."""

VERIFIED_OPENING_RATIO = (5.0, 16.0)
VERIFIED_LOADED_TURN_DEG = 120.0
VERIFIED_NOSE_SHARE = 0.25
PLANE_STRAIN_WIDTH_RATIO = 8.0

Beyond = Literal["opening-ratio", "loaded-turn", "nose-radius", "width"]


def most_loaded_by_die_deg(die_included_deg: float) -> float:
    """Loaded turn at which the flange all but meets the die's wall: 180 - die angle - 1."""
    return 180.0 - die_included_deg - DIE_WALL_GAP_DEG


def most_loaded_by_punch_deg(punch_included_deg: float) -> float:
    """Loaded turn at which the flange meets the punch's flank: 180 - punch angle."""
    return 180.0 - punch_included_deg


def beyond_verified(setup: BendSetup, loaded_turn_deg: float, *, length_mm: float | None = None) -> tuple[Beyond, ...]:
    """In what a bend lies outside the range in which the model was compared with finite-element bends and charts.

    V/t 5 to 16, loaded turn up to 120, nose up to 0.25 V, bend at least 8 t long (plane strain). The edges belong to
    the range. Nothing: an empty tuple.
    """
    least, most = VERIFIED_OPENING_RATIO
    ratio = setup.opening_mm / setup.thickness_mm
    found: list[Beyond] = []
    if not least <= ratio <= most:
        found.append("opening-ratio")
    if loaded_turn_deg > VERIFIED_LOADED_TURN_DEG:
        found.append("loaded-turn")
    if setup.nose_radius_mm > VERIFIED_NOSE_SHARE * setup.opening_mm:
        found.append("nose-radius")
    if length_mm is not None and length_mm < PLANE_STRAIN_WIDTH_RATIO * setup.thickness_mm:
        found.append("width")
    return tuple(found)


def least_flange_mm(bend: AirBend, deduction_mm: float) -> float:
    """Shortest outside leg that still lies on the shoulder at the end of the stroke: contact length + half deduction.

    Shorter, its edge slides into the opening. Plan with 1.1 times this.
    """
    return bend.contact_length_mm + deduction_mm / 2


def agrees_with_straight_flanges(setup: BendSetup, bend: AirBend, *, within_share: float = 0.1) -> bool:
    """Whether the contact length lies near that of straight flanges on the effective radius: a check on the solver."""
    straight_mm = contact_length_mm(
        bend.loaded_turn_deg,
        opening_mm=setup.opening_mm,
        shoulder_radius_mm=setup.shoulder_radius_mm,
        radius_mm=bend.effective_radius_mm,
        thickness_mm=setup.thickness_mm,
    )
    return abs(bend.contact_length_mm - straight_mm) <= within_share * straight_mm
