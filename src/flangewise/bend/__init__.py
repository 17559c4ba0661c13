"""One bend as physics. Takes plain numbers, gives plain numbers, relies on nothing but numpy.

Takes: thickness, material constants, die opening and radii, a turn or a depth.
Gives: allowance, springback, depth, force, limits, scatter, and what a measured piece teaches.
"""

from importlib import import_module
from typing import TYPE_CHECKING

from .air_bend import (
    MODEL_FORMULAS,
    MODEL_SOURCE,
    Target,
    air_bends,
    bend_at_depth,
    bend_to_turn,
    bends_of,
)
from .allowance import (
    HEM_K_FACTOR,
    RULES,
    Allowance,
    AllowanceRule,
    allowance_formulas,
    bend_allowance,
    k_from_deduction,
    leg_setback_mm,
    measured_allowance,
    offset_web_mm,
    setback_mm,
)
from .force import force_formulas, hand_force_kn_per_m, limit_force_kn_per_m, usual_force_kn_per_m
from .formula import Formula
from .hand import (
    LEAST_LEG_FORMULA,
    HandBend,
    hand_bend,
    hand_springback_deg,
    least_leg_mm,
    natural_radius_mm,
    plane_strain_modulus_mpa,
)
from .learn import (
    PIECE_SD_DEG,
    Estimate,
    LearnedState,
    LotError,
    borrowed_state,
    learn_lot,
    learn_lots,
    prior_state,
    shrunken_mean,
)
from .opening import OPENING_FORMULAS, opening_factor, usual_opening_mm
from .records import NOTHING_LEARNED, AirBend, AirBends, BendBatch, BendSetup, Learned, NoBend
from .scatter import (
    SPREAD_FORMULA,
    TWO_SIDED_95,
    Sensitivities,
    Spread,
    Spreads,
    expected_spread,
    sensitivities,
    spread_of,
)
from .special_force import FORCE_FACTORS, ForceFactor, Hem, factored_force_kn_per_m, hem_force_kn_per_m
from .stroke import StrokePoints, ram_speed_for_tip_mm_per_s, stroke, tip_speed_factor
from .swift import Swift, swift_from_certificate

if TYPE_CHECKING:
    from .correct import (
        SUSPECT_ERROR_DEG,
        DeductionSum,
        MeasuredLength,
        correction_weight,
        deduction_of_gauged_leg,
        deduction_of_whole_part,
        deductions_of_chain,
        depth_correction_mm,
        k_sd,
        worth_correcting,
    )
    from .deflection import BedLoad, Give, Plate, deflection_mm, give, opening_mm, reactions_kn
    from .draws import DrawnSpread, drawn_spread
    from .general_tolerance import ToleranceClass, angle_tolerance_deg, linear_tolerance_mm

# Loaded when first asked for: a single bend needs none of these, and they would cost a tenth of its start.
_LATE = {
    "correct": {
        "DeductionSum",
        "MeasuredLength",
        "SUSPECT_ERROR_DEG",
        "correction_weight",
        "deduction_of_gauged_leg",
        "deduction_of_whole_part",
        "deductions_of_chain",
        "depth_correction_mm",
        "k_sd",
        "worth_correcting",
    },
    "deflection": {
        "Plate",
        "BedLoad",
        "Give",
        "deflection_mm",
        "give",
        "opening_mm",
        "reactions_kn",
    },
    "draws": {"DrawnSpread", "drawn_spread"},
    "general_tolerance": {"ToleranceClass", "angle_tolerance_deg", "linear_tolerance_mm"},
}

__all__ = [
    "FORCE_FACTORS",
    "HEM_K_FACTOR",
    "LEAST_LEG_FORMULA",
    "MODEL_FORMULAS",
    "MODEL_SOURCE",
    "NOTHING_LEARNED",
    "OPENING_FORMULAS",
    "PIECE_SD_DEG",
    "RULES",
    "SPREAD_FORMULA",
    "SUSPECT_ERROR_DEG",
    "TWO_SIDED_95",
    "AirBend",
    "AirBends",
    "Allowance",
    "AllowanceRule",
    "BedLoad",
    "BendBatch",
    "BendSetup",
    "DeductionSum",
    "DrawnSpread",
    "Estimate",
    "ForceFactor",
    "Formula",
    "Give",
    "HandBend",
    "Hem",
    "Learned",
    "LearnedState",
    "LotError",
    "MeasuredLength",
    "NoBend",
    "Plate",
    "Sensitivities",
    "Spread",
    "Spreads",
    "StrokePoints",
    "Swift",
    "Target",
    "ToleranceClass",
    "air_bends",
    "allowance_formulas",
    "angle_tolerance_deg",
    "bend_allowance",
    "bend_at_depth",
    "bend_to_turn",
    "bends_of",
    "borrowed_state",
    "correction_weight",
    "deduction_of_gauged_leg",
    "deduction_of_whole_part",
    "deductions_of_chain",
    "deflection_mm",
    "depth_correction_mm",
    "drawn_spread",
    "expected_spread",
    "factored_force_kn_per_m",
    "force_formulas",
    "give",
    "hand_bend",
    "hand_force_kn_per_m",
    "hand_springback_deg",
    "hem_force_kn_per_m",
    "k_from_deduction",
    "k_sd",
    "learn_lot",
    "learn_lots",
    "least_leg_mm",
    "leg_setback_mm",
    "limit_force_kn_per_m",
    "linear_tolerance_mm",
    "measured_allowance",
    "natural_radius_mm",
    "offset_web_mm",
    "opening_factor",
    "opening_mm",
    "plane_strain_modulus_mpa",
    "prior_state",
    "ram_speed_for_tip_mm_per_s",
    "reactions_kn",
    "sensitivities",
    "setback_mm",
    "shrunken_mean",
    "spread_of",
    "stroke",
    "swift_from_certificate",
    "tip_speed_factor",
    "usual_force_kn_per_m",
    "usual_opening_mm",
    "worth_correcting",
]


def __getattr__(name: str) -> object:
    """A name of a module that is loaded late; AttributeError for one the room does not have."""
    for module, given in _LATE.items():
        if name in given:
            return getattr(import_module(f".{module}", __name__), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
