"""One bend as physics. Takes plain numbers, gives plain numbers, relies on nothing but numpy.

Takes: thickness, material constants, die opening and radii, a turn or a depth.
Gives: allowance, springback, depth, force, limits, scatter, and what a measured piece teaches.
"""

from typing import TYPE_CHECKING

from flangewise.late import late

from .air_bend import (
    MODEL_FORMULAS as MODEL_FORMULAS,
    MODEL_SOURCE as MODEL_SOURCE,
    StrokePoints as StrokePoints,
    air_bends as air_bends,
    bend_at_depth as bend_at_depth,
    bend_to_turn as bend_to_turn,
    ram_speed_for_tip_mm_per_s as ram_speed_for_tip_mm_per_s,
    stroke as stroke,
    strokes as strokes,
    tip_speed_factor as tip_speed_factor,
)
from .allowance import (
    FULL_FOLD_DEG as FULL_FOLD_DEG,
    HEM_K_FACTOR as HEM_K_FACTOR,
    RULES as RULES,
    Allowance as Allowance,
    Sizes as Sizes,
    allowance_formulas as allowance_formulas,
    bend_allowance as bend_allowance,
    k_from_deduction as k_from_deduction,
    leg_setback_mm as leg_setback_mm,
    measured_allowance as measured_allowance,
    offset_web_mm as offset_web_mm,
    outside_more_mm as outside_more_mm,
    setback_mm as setback_mm,
)
from .asked import AskedOnce as AskedOnce
from .force import (
    HEM_THICKNESSES_MM as HEM_THICKNESSES_MM,
    OFFSET_FORCE_FACTOR as OFFSET_FORCE_FACTOR,
    OPENING_FORMULAS as OPENING_FORMULAS,
    Hem as Hem,
    force_formulas as force_formulas,
    hem_force_kn_per_m as hem_force_kn_per_m,
    limit_force_kn_per_m as limit_force_kn_per_m,
    opening_factor as opening_factor,
    usual_force_kn_per_m as usual_force_kn_per_m,
    usual_opening_mm as usual_opening_mm,
)
from .formula import Formula as Formula
from .hand import (
    LEAST_LEG_FORMULA as LEAST_LEG_FORMULA,
    HandBend as HandBend,
    hand_bend as hand_bend,
    hand_springback_deg as hand_springback_deg,
    least_leg_mm as least_leg_mm,
    plane_strain_modulus_mpa as plane_strain_modulus_mpa,
)
from .learn import (
    PIECE_SD_DEG as PIECE_SD_DEG,
    LearnedState as LearnedState,
    LotError as LotError,
    borrowed_state as borrowed_state,
    learn_lots as learn_lots,
    prior_state as prior_state,
    shrunken_mean as shrunken_mean,
)
from .moment import Swift as Swift, swift_from_certificate as swift_from_certificate
from .newton import Target as Target
from .records import (
    NOTHING_LEARNED as NOTHING_LEARNED,
    AirBend as AirBend,
    BendSetup as BendSetup,
    Learned as Learned,
    NoBend as NoBend,
)
from .scatter import (
    SPREAD_FORMULA as SPREAD_FORMULA,
    TWO_SIDED_95 as TWO_SIDED_95,
    Spread as Spread,
    Spreads as Spreads,
    expected_spread as expected_spread,
)

if TYPE_CHECKING:
    from .correct import (
        SUSPECT_ERROR_DEG as SUSPECT_ERROR_DEG,
        DeductionSum as DeductionSum,
        MeasuredLength as MeasuredLength,
        correction_weight as correction_weight,
        deduction_of_gauged_leg as deduction_of_gauged_leg,
        deduction_of_whole_part as deduction_of_whole_part,
        deductions_of_chain as deductions_of_chain,
        depth_correction_mm as depth_correction_mm,
        k_sd as k_sd,
    )
    from .deflection import (
        BeamPlate as BeamPlate,
        BedLoad as BedLoad,
        Deflection as Deflection,
        bed_deflection as bed_deflection,
        opening_mm as opening_mm,
    )
    from .draws import DrawnSpread as DrawnSpread, drawn_spread as drawn_spread
    from .general_tolerance import (
        angle_tolerance_deg as angle_tolerance_deg,
        linear_tolerance_mm as linear_tolerance_mm,
    )

# Loaded when first asked for: a single bend needs none of these, and they would cost a tenth of its start.
__getattr__ = late(__name__, "correct", "deflection", "draws", "general_tolerance")
