"""One air bend by hand formulas: straight flanges on a circular arc, radius and springback by rules of thumb.

Equations (half turn under load a, opening V between tangent points, shoulder radius rd, inside radius r):

* depth           D  = V/2 tan a - (r + rd)(sec a - 1) - t sec a
* punch travel    P  = V/2 tan a - (r + rd + t)(sec a - 1), from first touch
* natural radius  r  = 0.38 V n/(n + 0.21) - t/2, n the hardening exponent
* springback      146 Rm/E' V/t degrees at 90 (austenitic 133); other turns times 0.65 + 0.35 turn/90

The first two are exact for that shape; the last two are fits to the process model of this room and to trade data,
good near 90 degrees. Elsewhere the depth is up to 3 degrees of turn off. The shape of flanges on an arc is given as
the set-up of a nose of that inside radius.
Source: derived here: plane geometry of arc, flange and shoulder; the fits held against 6,000 random bends at 90
degrees, V 6 to 12 t. The force is that of `force`.
"""

import math

from flangewise.records import dataclass, replace

from .force import hand_force_kn_per_m
from .formula import Formula
from .moment import Swift
from .records import BendSetup

SPRINGBACK_DEG = 146.0
SPRINGBACK_AUSTENITIC_DEG = 133.0
LEAST_LEG_MARGIN = 1.1
"""Legs shorter than this times contact length + half the deduction may slip into the die (common practice)."""


LEAST_LEG_FORMULA = Formula(
    "min_leg_mm",
    "1.1 x (sheet from the bend's middle to the shoulder + half the deduction)",
    "contact length {contact_mm}, half the deduction {half_deduction_mm}",
    "contact length by the process model, the tenth in hand is common practice",
)
_INPUTS = "the same sheet and tools; good near 90 degrees, up to 3 degrees of turn off elsewhere"
_CHECK = "hand formulas, a check and nothing more"


@dataclass(frozen=True)
class HandBend:
    """One bend by hand: radius, springback, turn under load, depth, force."""

    inside_radius_mm: float
    springback_deg: float
    loaded_turn_deg: float
    depth_mm: float
    force_kn_per_m: float
    force_from: str

    @property
    def formulas(self) -> tuple[Formula, ...]:
        """How it is told beside the model's figures. Source: as the functions of this module and `force`."""
        oehler = "(1 + 4t/V) Rm t²/V"
        force = oehler if self.force_from == "1+4t/V" else f"1.43 Rm t²/V, above {oehler} here"
        springback = "146 Rm/E' V/t (133 austenitic) x (0.65 + 0.35 turn/90)"
        depth = "V/2 tan a - (r + rd)(sec a - 1) - t sec a"
        geometry = "straight flanges on an arc; geometry"
        return (
            Formula("by hand: force", force, _INPUTS, _CHECK, "{hand.force_kn_per_m}"),
            Formula("by hand: springback", springback, _INPUTS, _CHECK, "{hand.springback_deg}"),
            Formula("by hand: depth", depth, _INPUTS, geometry, "{hand.depth_mm}"),
        )


def plane_strain_modulus_mpa(modulus_mpa: float, poisson: float) -> float:
    """E' = E/(1 - nu^2), the modulus of a wide sheet in bending. Source: elasticity in plane strain, textbook."""
    return modulus_mpa / (1 - poisson**2)


def natural_radius_mm(opening_mm: float, thickness_mm: float, *, exponent: float) -> float:
    """Inside radius an air bend of 90 degrees forms under a sharp punch: 0.38 V n/(n + 0.21) - t/2, not below 0.

    The larger of this and the punch nose radius is what forms. Scatter about the process model 0.012 V (1 s.d.).
    """
    return max(0.0, 0.38 * opening_mm * exponent / (exponent + 0.21) - thickness_mm / 2)


def hand_springback_deg(
    tensile_mpa: float,
    plane_modulus_mpa: float,
    *,
    opening_mm: float,
    thickness_mm: float,
    turn_deg: float,
    austenitic: bool = False,
) -> float:
    """Springback by 146 Rm/E' V/t at 90 degrees (133 for austenitic), times 0.65 + 0.35 turn/90 elsewhere.

    plane_modulus_mpa is E/(1 - nu^2). Within 6 % of the process model for mild steel, aluminium and high-strength
    steel at V 6 to 12 t, 1 to 20 % above it for austenitic.
    """
    at_90_deg = SPRINGBACK_AUSTENITIC_DEG if austenitic else SPRINGBACK_DEG
    share = 0.65 + 0.35 * turn_deg / 90
    return at_90_deg * tensile_mpa / plane_modulus_mpa * opening_mm / thickness_mm * share


def flange_depth_mm(loaded_turn_deg: float, shape: BendSetup) -> float:
    """Depth of the nose below the die's top for straight flanges on an arc; first touch is at -t.

    The contact must lie on the straight flange: V/2 - rd sin a > (r + t) sin a. A loaded turn of 180 has no depth
    (ValueError).
    """
    half = _half_turn(loaded_turn_deg)
    rise = 1 / math.cos(half) - 1
    gain_mm = shape.opening_mm / 2 * math.tan(half)
    return gain_mm - (shape.nose_radius_mm + shape.shoulder_radius_mm) * rise - shape.thickness_mm * (rise + 1)


def least_leg_mm(contact_mm: float, deduction_mm: float, *, margin: float = LEAST_LEG_MARGIN) -> float:
    """Least outside leg: margin x (contact length + half the deduction); margin 1 is where the sheet falls in.

    Charts print 0.67 to 0.75 V at 90 degrees, 1.09 to 1.12 times the bare contact.
    Source: the contact length is derived here, the tenth in hand is common practice.
    """
    return margin * (contact_mm + deduction_mm / 2)


def hand_bend(
    turn_deg: float, setup: BendSetup, swift: Swift, *, tensile_mpa: float, austenitic: bool = False
) -> HandBend:
    """One bend of `turn_deg` finished; ValueError where turn plus springback reaches 180, which no air bend does."""
    t, opening_mm = setup.thickness_mm, setup.opening_mm
    radius_mm = max(setup.nose_radius_mm, natural_radius_mm(opening_mm, t, exponent=swift.exponent))
    sheet = {"opening_mm": opening_mm, "thickness_mm": t, "turn_deg": turn_deg}
    springback_deg = hand_springback_deg(tensile_mpa, swift.plane_modulus_mpa, austenitic=austenitic, **sheet)
    loaded_deg, shape = turn_deg + springback_deg, replace(setup, nose_radius_mm=radius_mm)
    force, force_from = hand_force_kn_per_m(tensile_mpa, t, opening_mm=opening_mm, austenitic=austenitic)
    return HandBend(
        inside_radius_mm=radius_mm,
        springback_deg=springback_deg,
        loaded_turn_deg=loaded_deg,
        depth_mm=flange_depth_mm(loaded_deg, shape),
        force_kn_per_m=force,
        force_from=force_from,
    )


def _half_turn(loaded_turn_deg: float) -> float:
    if not 0 <= loaded_turn_deg < 180:
        raise ValueError(f"an air bend turns through 0 to less than 180 degrees, not {loaded_turn_deg:g}")
    return math.radians(loaded_turn_deg) / 2
