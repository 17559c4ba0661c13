"""Bending force by the hand formulas of books and trade, each with the constant it carries in its name.

Force per metre of bend in kN/m, which is N per mm. Stress in N/mm2 (`_mpa`), lengths in mm. They disagree by up to
a third: say which one was used.
"""

from __future__ import annotations

from .formula import Formula
from .opening import usual_opening_mm

KN_PER_M_PER_TONNE_PER_M = 9.80665
"""1 tonne-force per metre in kN/m."""


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
    """Force by hand and the name of the formula that set it: 1 + 4t/V, for austenitic never below the 1.43 form.

    Source: as `oehler_kn_per_m` and `austenitic_kn_per_m`.
    """
    name = "1+4t/V"
    kn_per_m = oehler_kn_per_m(tensile_mpa, thickness_mm, opening_mm)
    return limit_force_kn_per_m(
        kn_per_m, name, tensile_mpa=tensile_mpa, thickness_mm=thickness_mm, opening_mm=opening_mm, austenitic=austenitic
    )


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
    """How the force checked with, and that of a whole bend, are told; `model` is formula and source of the model's own.

    Source: as `limit_force_kn_per_m`.
    """
    chart = "a tool maker's metric force chart for austenitic stainless, which stands above the model"
    formula, source = ("1.43 Rm t²/V", chart) if force_from == "1.43-austenitic" else model
    inputs = "Rm {material.tensile_mpa:g} N/mm², t {thickness_mm}, V {die_opening_mm}; {material.source}"
    return (
        Formula("limit_force_kn_per_m", formula, inputs, source),
        Formula("force_kn", "limit force x length", "{limit_force_kn_per_m}, {length_mm}", "definition"),
    )


def usual_force_kn_per_m(tensile_mpa: float, thickness_mm: float) -> float:
    """Air-bend force in the usual opening for the thickness: the base that special forms are factors of.

    Source: as `oehler_kn_per_m`, in the opening of common practice.
    """
    return oehler_kn_per_m(tensile_mpa, thickness_mm, usual_opening_mm(thickness_mm))


def _base_kn_per_m(tensile_mpa: float, thickness_mm: float, opening_mm: float) -> float:
    return tensile_mpa * thickness_mm**2 / opening_mm
