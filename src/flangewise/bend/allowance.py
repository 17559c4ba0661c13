"""How much sheet a bend takes: allowance, setback, deduction, K factor, by named rule or by K.

Lengths in mm, turns in degrees from flat (included angle = 180 - turn). A rule gives the arc length that one degree
of turn takes; everything else follows from that number and from how legs are sized:

* `outside` sizes: up to a turn of 90 to the mould line, where the outer faces meet; above 90 to the tangent plane
  square to the leg, at r + t.
* `inside` sizes: up to 90 to the line where the inner faces meet; above 90 to the plane at r.
"""

import math
from collections.abc import Callable, Mapping
from functools import partial
from types import MappingProxyType
from typing import Literal

from flangewise.records import dataclass, replace

from .formula import Formula

Sizes = Literal["outside", "inside"]

DIN_LEAST_RATIO = 0.65
"""Smallest r/s that the k of DIN 6935 is tabulated for; below it k is held (from memory of the 1975 table)."""

DIN_LAST_INCLUDED_DEG = 165.0  # DIN 6935 prints a deduction of zero above this included angle; ours stays continuous

# A hem is pressed flat about its neutral middle.
HEM_K_FACTOR = 0.5
RIGHT_ANGLE_DEG = 90.0
FULL_FOLD_DEG = 180.0


@dataclass(frozen=True)
class AllowanceRule:
    """A named rule: arc length per degree of turn from inside radius and thickness, what it is for, how it is told."""

    mm_per_deg: Callable[[float, float], float]
    meant_for: str
    formula: str
    source: str


@dataclass(frozen=True)
class Allowance:
    """What one bend takes from the sheet, and the flags a finding is made of.

    `setback_mm` is the tangent form (r + t) tan(turn/2) and None at a turn of 180, where no mould line exists.
    `leg_setback_mm` is what a leg sized `sizes` loses at this bend; `deduction_mm` = 2 leg_setback - allowance.
    `k_held`: DIN's k was held at its r/s = 0.65 value. `beyond_din`: included angle above 165, where DIN prints 0.
    """

    rule: str
    allowance_mm: float
    k_factor: float
    setback_mm: float | None
    leg_setback_mm: float
    deduction_mm: float
    k_held: bool
    beyond_din: bool


def din_6935_k(radius_mm: float, thickness_mm: float) -> float:
    """Correction k of DIN 6935, a share of s/2 (the English K is k/2).

    k = 0.65 + 0.5 log10(r/s), not above 1. Below r/s = 0.65 it is held at the value there, 0.5565; a radius of
    zero gives the same. Thickness must be above zero.
    Source: DIN 6935, formula as printed in Tabellenbuch Metall; the cap at 1 for r/s > 5 from memory.

    >>> round(din_6935_k(6, 5), 4)      # the table book prints 0.689
    0.6896
    """
    ratio = max(radius_mm / thickness_mm, DIN_LEAST_RATIO)
    return min(1.0, 0.65 + 0.5 * math.log10(ratio))


def din_6935_mm_per_deg(radius_mm: float, thickness_mm: float) -> float:
    """Arc length per degree of turn by DIN 6935: pi/180 (r + k s/2), continuous also above 165 included.

    Source: DIN 6935, as printed in Tabellenbuch Metall.
    """
    return math.radians(radius_mm + din_6935_k(radius_mm, thickness_mm) * thickness_mm / 2)


def handbook_mm_per_deg(radius_mm: float, thickness_mm: float, *, share: float) -> float:
    """Handbook rule, share x T + 1.57 R for 90 degrees, scaled by the angle.

    The handbook's own 1.57 is kept, not pi/2: the answers then agree with its printed examples.
    Source: Machinery's Handbook, 31st ed., p. 1421, equations 32 to 34; T 0.125, R 0.375 in, 180 degrees, share 0.64
    prints 1.338 in (exact 1.3375).
    """
    return (share * thickness_mm + 1.57 * radius_mm) / RIGHT_ANGLE_DEG


def faa_mm_per_deg(radius_mm: float, thickness_mm: float) -> float:
    """Airframe handbook: 0.01743 R + 0.0078 T per degree.

    Source: FAA-H-8083-31, chapter 4. The printed 90-degree chart was evidently made with 0.01745, a Navy training
    text has 0.0173: the R part differs by up to 0.7 %.
    """
    return 0.01743 * radius_mm + 0.0078 * thickness_mm


def textbook_mm_per_deg(radius_mm: float, thickness_mm: float) -> float:
    """Textbook rule: K = 0.33 below R = 2T, else 0.5.

    Source: Kalpakjian and Schmid, Manufacturing Engineering and Technology, 6th ed. SI, p. 418; Groover, Fundamentals
    of Modern Manufacturing, chapter 20, gives the same and counts R = 2T to the upper branch, as here.
    """
    return k_factor_mm_per_deg(radius_mm, thickness_mm, k_factor=0.33 if radius_mm < 2 * thickness_mm else 0.5)


def k_factor_mm_per_deg(radius_mm: float, thickness_mm: float, *, k_factor: float) -> float:
    """Arc length per degree on the neutral line at k_factor of the thickness: pi/180 (r + K t).

    Source: Kalpakjian and Schmid, Manufacturing Engineering and Technology, 6th ed. SI, p. 418, equation 16.2.
    """
    return math.radians(radius_mm + k_factor * thickness_mm)


RULES: Mapping[str, AllowanceRule] = MappingProxyType(
    {
        "din-6935": AllowanceRule(
            din_6935_mm_per_deg,
            "cold bending of steel",
            "pi/180 turn (r + k s/2), k = 0.65 + 0.5 log10(r/s), at most 1",
            "DIN 6935, as printed in Tabellenbuch Metall",
        ),
        "handbook-soft": AllowanceRule(
            partial(handbook_mm_per_deg, share=0.55),
            "soft brass, soft copper",
            "(0.55 T + 1.57 R) turn/90",
            "Machinery's Handbook, 31st ed., p. 1421, equation 32",
        ),
        "handbook-medium": AllowanceRule(
            partial(handbook_mm_per_deg, share=0.64),
            "half-hard copper and brass, soft steel, aluminium",
            "(0.64 T + 1.57 R) turn/90",
            "Machinery's Handbook, 31st ed., p. 1421, equation 33",
        ),
        "handbook-hard": AllowanceRule(
            partial(handbook_mm_per_deg, share=0.71),
            "bronze, hard copper, cold-rolled and spring steel",
            "(0.71 T + 1.57 R) turn/90",
            "Machinery's Handbook, 31st ed., p. 1421, equation 34",
        ),
        "faa": AllowanceRule(
            faa_mm_per_deg, "airframe sheet", "(0.01743 R + 0.0078 T) turn", "FAA-H-8083-31, chapter 4"
        ),
        "textbook": AllowanceRule(
            textbook_mm_per_deg,
            "any sheet, K 0.33 or 0.5",
            "pi/180 turn (R + K T), K 0.33 below R = 2T, else 0.5",
            "Kalpakjian and Schmid, Manufacturing Engineering and Technology, 6th ed. SI, p. 418",
        ),
    }
)
"""The rules by name. Options, help, the shop's schema and what `--why` tells are made from this table."""

_SHEET = "r {inside_radius_mm}, t {thickness_mm}, turn {turn_deg}"


def allowance_formulas(rule: str) -> tuple[Formula, ...]:
    """How allowance, K, setback, deduction are told by rule, K or measured; else KeyError. Source: the rule's."""
    named = RULES.get(rule)
    by_no_rule = {
        "k-factor": ("pi/180 turn (r + K t)", "the K factor given"),
        "measured": ("2 leg setbacks - measured deduction", "the shop's measured bends"),
    }
    formula, source = by_no_rule[rule] if named is None else (named.formula, named.source)
    return (
        Formula("allowance_mm", formula, _SHEET, source),
        Formula(
            "k_factor",
            "(allowance/turn in radians - r)/t",
            f"allowance {{allowance_mm}}, {_SHEET}",
            source,
            "{k_factor:4}",
        ),
        Formula("setback_mm", "(r + t) tan(turn/2)", _SHEET, "FAA-H-8083-31, chapter 4; geometry"),
        Formula(
            "deduction_mm",
            "2 x setback of a leg - allowance; setback of a leg (r + t) tan(turn/2) up to 90 degrees, r + t above",
            "setback of a leg {leg_setback_mm}, allowance {allowance_mm}",
            "DIN 6935 (legs to the outer tangents below 90 included)",
        ),
    )


def bend_allowance(
    radius_mm: float,
    thickness_mm: float,
    *,
    turn_deg: float,
    rule: str = "din-6935",
    k_factor: float | None = None,
    sizes: Sizes = "outside",
) -> Allowance:
    """Allowance, K, setback and deduction of one bend; a given k_factor goes before the rule.

    Turn 0 gives zero lengths and the K of the rule; 180 gives no setback; above 180 or below 0 raises ValueError, an
    unknown rule KeyError. Source: that of the rule, and of `leg_setback_mm` for the deduction.
    """
    if k_factor is None:
        per_deg_mm = RULES[rule].mm_per_deg(radius_mm, thickness_mm)
    else:
        rule, per_deg_mm = "k-factor", k_factor_mm_per_deg(radius_mm, thickness_mm, k_factor=k_factor)
    allowance_mm = per_deg_mm * turn_deg
    leg_mm = leg_setback_mm(radius_mm, thickness_mm, turn_deg=turn_deg, sizes=sizes)
    din = rule == "din-6935"
    return Allowance(
        rule=rule,
        allowance_mm=allowance_mm,
        k_factor=(math.degrees(per_deg_mm) - radius_mm) / thickness_mm,
        setback_mm=setback_mm(radius_mm, thickness_mm, turn_deg=turn_deg),
        leg_setback_mm=leg_mm,
        deduction_mm=2 * leg_mm - allowance_mm,
        k_held=din and radius_mm < DIN_LEAST_RATIO * thickness_mm,
        beyond_din=din and FULL_FOLD_DEG - turn_deg > DIN_LAST_INCLUDED_DEG,
    )


def measured_allowance(
    radius_mm: float, thickness_mm: float, *, turn_deg: float, deduction_mm: float, sizes: Sizes = "outside"
) -> Allowance:
    """The same record from a deduction measured on parts bent at that radius: allowance = 2 leg_setback - deduction.

    ValueError for a turn of zero. Source: rearranged from the deduction of `bend_allowance`.
    """
    k_factor = k_from_deduction(radius_mm, thickness_mm, turn_deg=turn_deg, deduction_mm=deduction_mm, sizes=sizes)
    by_k = bend_allowance(radius_mm, thickness_mm, turn_deg=turn_deg, k_factor=k_factor, sizes=sizes)
    allowance_mm = 2 * by_k.leg_setback_mm - deduction_mm
    return replace(by_k, rule="measured", k_factor=k_factor, allowance_mm=allowance_mm, deduction_mm=deduction_mm)


def setback_mm(radius_mm: float, thickness_mm: float, *, turn_deg: float) -> float | None:
    """Outside setback, tangent form: (r + t) tan(turn/2). None at 180; ValueError outside 0 to 180.

    Source: FAA-H-8083-31, chapter 4 (setback chart: R + T = 0.183 in at 135 degrees reads 0.435, exact 0.4418).
    """
    _check_turn(turn_deg)
    if turn_deg == FULL_FOLD_DEG:
        return None
    return (radius_mm + thickness_mm) * math.tan(math.radians(turn_deg) / 2)


def leg_setback_mm(radius_mm: float, thickness_mm: float, *, turn_deg: float, sizes: Sizes = "outside") -> float:
    """What one leg loses at a bend, from the size on the drawing to the start of the bend zone.

    reach tan(turn/2) up to 90, reach above, with reach = r + t for outside sizes and r for inside sizes; both agree
    at 90. ValueError for a turn outside 0 to 180.
    Source: DIN 6935 (legs to the outer tangents below 90 included), as printed in Tabellenbuch Metall.
    """
    _check_turn(turn_deg)
    reach_mm = radius_mm + (thickness_mm if sizes == "outside" else 0.0)
    return reach_mm * min(1.0, math.tan(math.radians(min(turn_deg, RIGHT_ANGLE_DEG)) / 2))


def outside_more_mm(thickness_mm: float, *, turn_deg: float, sizes: Sizes) -> float:
    """What a deduction for outside sizes is more than one for `sizes`. Source: as `leg_setback_mm`, reach less t."""
    return 0.0 if sizes == "outside" else 2 * leg_setback_mm(0.0, thickness_mm, turn_deg=turn_deg)


def k_from_deduction(
    radius_mm: float, thickness_mm: float, *, turn_deg: float, deduction_mm: float, sizes: Sizes = "outside"
) -> float:
    """K factor that a measured deduction shows: [(2 leg_setback - deduction)/turn - r]/t, turn in radians.

    It depends on the radius used: keep that beside it. ValueError for a turn of zero.
    Source: rearranged from the deduction; shop table case T 0.060, R 0.060, deduction 0.106 in gives 0.4218.
    """
    if turn_deg <= 0:
        raise ValueError("a bend with no turn shows no K factor")
    arc_mm = 2 * leg_setback_mm(radius_mm, thickness_mm, turn_deg=turn_deg, sizes=sizes) - deduction_mm
    return (arc_mm / math.radians(turn_deg) - radius_mm) / thickness_mm


def offset_web_mm(radius_mm: float, thickness_mm: float, *, step_mm: float, turn_deg: float = 90.0) -> float:
    """Flat web between the two opposite bends of an offset: [h - (2r + t)(1 - cos A)]/sin A.

    step_mm is between the same faces of the two legs. Negative: the two arcs alone are higher than the step, so that
    turn cannot make it. ValueError for a turn of 0 or 180, where no web joins the legs.
    Source: derived here: two equal arcs of inside radius r and the straight web between them.
    """
    _check_turn(turn_deg)
    if turn_deg in (0.0, FULL_FOLD_DEG):
        raise ValueError("an offset needs a turn between 0 and 180 degrees")
    turn = math.radians(turn_deg)
    return (step_mm - (2 * radius_mm + thickness_mm) * (1 - math.cos(turn))) / math.sin(turn)


def _check_turn(turn_deg: float) -> None:
    if not 0 <= turn_deg <= FULL_FOLD_DEG:
        raise ValueError(f"a bend turns through 0 to 180 degrees, not {turn_deg:g}")
