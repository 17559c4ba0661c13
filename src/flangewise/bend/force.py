"""Bending force by the hand formulas of books and trade, and the die opening that a thickness asks for.

Force per metre of bend in kN/m, which is N per mm. Stress in N/mm2 (`_mpa`), lengths in mm. The formulas disagree by up
to a third: say which one was used. What is no air bend (hem flattening, offsets) has trade tables and no
model behind them: no angle is predicted for either.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

import numpy as np

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
    """Die opening by the 6/8/10/12 t rule. Source: common practice.

    >>> [usual_opening_mm(t) for t in (1, 4, 10, 15)]
    [6.0, 32.0, 100.0, 180.0]
    """
    return opening_factor(thickness_mm) * thickness_mm


KN_PER_M_PER_TONNE_PER_M = 9.80665  # 1 tonne-force per metre in kN/m


def oehler_kn_per_m(tensile_mpa: float, thickness_mm: float, opening_mm: float) -> float:
    """(1 + 4t/V) Rm t^2/V: 1.5 at V = 8t, 1.33 at 12t, 1.667 at 6t.

    Source: Oehler and Kaiser, Schnitt-, Stanz- und Ziehwerkzeuge (attribution from memory).
    """
    return (1 + 4 * thickness_mm / opening_mm) * _base_kn_per_m(tensile_mpa, thickness_mm, opening_mm)


def austenitic_kn_per_m(tensile_mpa: float, thickness_mm: float, opening_mm: float) -> float:
    """1.43 Rm t^2/V, the floor that tools and machine are checked with for austenitic stainless.

    Source: a tool maker's metric force chart for Rm 700, which keeps that ratio at every V/t; strong hardening makes
    models give 10 to 20 % less at V above 8t, and a limit must not lean on that.
    """
    return 1.43 * _base_kn_per_m(tensile_mpa, thickness_mm, opening_mm)


def hand_force_kn_per_m(
    tensile_mpa: float, thickness_mm: float, *, opening_mm: float, austenitic: bool = False
) -> tuple[float, str]:
    """Force by hand and what set it: 1 + 4t/V, austenitic not below the 1.43 form. Source: as these functions."""
    sheet = {"tensile_mpa": tensile_mpa, "thickness_mm": thickness_mm, "opening_mm": opening_mm}
    return limit_force_kn_per_m(oehler_kn_per_m(**sheet), "1+4t/V", austenitic=austenitic, **sheet)


def limit_force_kn_per_m(
    force_kn_per_m: float,
    force_from: str,
    *,
    tensile_mpa: float,
    thickness_mm: float,
    opening_mm: float,
    austenitic: bool,
) -> tuple[float, str]:
    """The force that tools and machine are checked with, and what set it.

    The given force (of a model or formula named force_from), for austenitic stainless not below 1.43 Rm t^2/V.
    Source: judgement: the larger of the two, since that chart asks 10 to 20 % more than model and finite elements.
    """
    if austenitic:
        floor_kn_per_m = austenitic_kn_per_m(tensile_mpa, thickness_mm, opening_mm)
        if floor_kn_per_m > force_kn_per_m:
            return floor_kn_per_m, "1.43-austenitic"
    return force_kn_per_m, force_from


def force_formulas(force_from: str, model: tuple[str, str]) -> tuple[Formula, ...]:
    """How the force checked with, and of a whole bend, are told, `model` being the model's. Source: the limit's."""
    chart = "a tool maker's metric force chart for austenitic stainless, which stands above the model"
    formula, source = ("1.43 Rm t²/V", chart) if force_from == "1.43-austenitic" else model
    inputs = "Rm {material.tensile_mpa:g} N/mm², t {thickness_mm}, V {die_opening_mm}; {material.source}"
    return (
        Formula("limit_force_kn_per_m", formula, inputs, source),
        Formula("force_kn", "limit force x length", "{limit_force_kn_per_m}, {length_mm}", "definition"),
    )


def usual_force_kn_per_m(tensile_mpa: float, thickness_mm: float) -> float:
    """Air-bend force in the usual opening, which special forms are factors of. Source: as `oehler_kn_per_m`."""
    return oehler_kn_per_m(tensile_mpa, thickness_mm, usual_opening_mm(thickness_mm))


def _base_kn_per_m(tensile_mpa: float, thickness_mm: float, opening_mm: float) -> float:
    return tensile_mpa * thickness_mm**2 / opening_mm


Hem = Literal["closed", "open"]

HEM_THICKNESSES_MM = (0.6, 0.8, 1.0, 1.2, 1.6, 2.0, 2.6, 3.2, 4.5)

HEM_TONNES_PER_M: Mapping[Hem, tuple[float, ...]] = MappingProxyType(
    {"open": (9, 12, 15, 17, 24, 30, 55, 70, 105), "closed": (23, 32, 40, 50, 63, 80, 90, 100, 200)}
)
"""Metric tonnes per metre to flatten a hem in cold-rolled and stainless sheet.

Source: S. D. Benson, Press Brake Technology, SME 1997, p. 138, as quoted in an encyclopedia article; it does not
separate the metals.
"""

HEM_TENSILE_MPA = 400.0
"""Tensile strength above which the hem table is scaled up (judgement; the table names no strength)."""


# A multiple of the air-bend force in the usual opening: a die maker's factors, offset 150 against air bend 60.
OFFSET_FORCE_FACTOR = 2.5


def hem_force_kn_per_m(thickness_mm: float, hem: Hem, *, tensile_mpa: float) -> float | None:
    """Force to flatten a hem, linear between the table's rows, times Rm/400 for anything stronger than 400 N/mm2.

    Below 0.6 mm the 0.6 mm row holds (it asks too much, never too little). Above 4.5 mm the table has no answer: None.
    Source: HEM_TONNES_PER_M; the scaling is judgement.

    >>> round(hem_force_kn_per_m(1.0, "closed", tensile_mpa=320))
    392
    """
    tonnes = HEM_TONNES_PER_M[hem]
    if thickness_mm > HEM_THICKNESSES_MM[-1]:
        return None
    per_m = float(np.interp(thickness_mm, HEM_THICKNESSES_MM, tonnes))
    return per_m * KN_PER_M_PER_TONNE_PER_M * max(1.0, tensile_mpa / HEM_TENSILE_MPA)
