"""One bend as physics. Takes plain numbers, gives plain numbers, relies on nothing but numpy.

Takes: thickness, material constants, die opening and radii, a turn or a depth.
Gives: allowance, springback, depth, force, limits, scatter, and what a measured piece teaches.
"""

from .air_bend import (
    Target,
    air_bends,
    bend_at_depth,
    bend_loaded_to,
    bend_to_turn,
    bends_at_depth,
    bends_loaded_to,
    bends_to_turn,
)
from .allowance import (
    RULES,
    Allowance,
    bend_allowance,
    hem_allowance_mm,
    k_from_deduction,
    leg_setback_mm,
    measured_allowance,
    offset_web_mm,
    setback_mm,
)
from .force import FORMULAS, edge_kn_per_m, hand_force_kn_per_m, limit_force_kn_per_m, usual_force_kn_per_m
from .hand import HandBend, hand_bend, least_leg_mm, natural_radius_mm, plane_strain_modulus_mpa
from .moment import gardiner_ratio
from .opening import chart_least_leg_mm, chart_radius_mm, opening_factor, opening_order, usual_opening_mm
from .records import NOTHING_LEARNED, AirBend, AirBends, BendBatch, BendSetup, Learned, NoBend
from .special_force import FORCE_FACTORS, ForceFactor, factored_force_kn_per_m, hem_force_kn_per_m
from .strain import least_radius_by_area_mm, outer_strain
from .swift import Swift, hill_strain_factor, swift_from_certificate

__all__ = [
    "FORCE_FACTORS",
    "FORMULAS",
    "NOTHING_LEARNED",
    "RULES",
    "AirBend",
    "AirBends",
    "Allowance",
    "BendBatch",
    "BendSetup",
    "ForceFactor",
    "HandBend",
    "Learned",
    "NoBend",
    "Swift",
    "Target",
    "air_bends",
    "bend_allowance",
    "bend_at_depth",
    "bend_loaded_to",
    "bend_to_turn",
    "bends_at_depth",
    "bends_loaded_to",
    "bends_to_turn",
    "chart_least_leg_mm",
    "chart_radius_mm",
    "edge_kn_per_m",
    "factored_force_kn_per_m",
    "gardiner_ratio",
    "hand_bend",
    "hand_force_kn_per_m",
    "hem_allowance_mm",
    "hem_force_kn_per_m",
    "hill_strain_factor",
    "k_from_deduction",
    "least_leg_mm",
    "least_radius_by_area_mm",
    "leg_setback_mm",
    "limit_force_kn_per_m",
    "measured_allowance",
    "natural_radius_mm",
    "offset_web_mm",
    "opening_factor",
    "opening_order",
    "outer_strain",
    "plane_strain_modulus_mpa",
    "setback_mm",
    "swift_from_certificate",
    "usual_force_kn_per_m",
    "usual_opening_mm",
]
