"""Formulas of books and trade that the program does not compute with: judges for the model and the printed charts.

Force per metre in kN/m (= N/mm) from tensile strength in N/mm2, thickness and opening in mm; they disagree by up to a
third, so each carries its constant in its name. A printed cell is held against the formula of its print, which shows a
figure copied wrongly, before tests of the rooms hold the model against the cell.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from flangewise.bend.force import OFFSET_FORCE_FACTOR, austenitic_kn_per_m, oehler_kn_per_m

KN_PER_M_PER_US_TON_PER_FOOT = 8.896443230521 / 0.3048
# The steels that two rules of thumb are stated for: 60,000 psi, and 450 N/mm2.
TENSILE_OF_575_RULE_MPA, TENSILE_OF_650_RULE_MPA = 413.7, 450.0

FORCES: Mapping[str, Callable[[float, float, float], float]] = {
    # The two that the program computes with.
    "1+4t/V": oehler_kn_per_m,
    "1.43-austenitic": austenitic_kn_per_m,
    # Groover, Fundamentals of Modern Manufacturing, chapter 20 (from memory): vee, and edge bending over the gap V.
    "1.33": lambda rm, t, v: 1.33 * rm * t**2 / v,
    "edge": lambda rm, t, v: 0.33 * rm * t**2 / v,
    # Common practice: the rounded form, and the rules in US tons a foot and inches, and in N and m.
    "1.42": lambda rm, t, v: 1.42 * rm * t**2 / v,
    "575-rule": lambda rm, t, v: 575 * t**2 / v / 25.4 * KN_PER_M_PER_US_TON_PER_FOOT * rm / TENSILE_OF_575_RULE_MPA,
    "650-rule": lambda rm, t, v: 650 * t**2 / v * rm / TENSILE_OF_650_RULE_MPA,
}

# Multiples of the air-bend force: the one the program computes with, and others; bottoming 2 to 5, from memory.
FORCE_FACTORS: Mapping[str, float] = {"offset": OFFSET_FORCE_FACTOR, "channel": 3.75, "bottoming": 5.0}

# A tool maker's force chart at 90 degrees: smallest outside leg (printed 0.67 to 0.75 V) and radius (0.156 to 0.175 V).
CHART_LEAST_LEG_SHARE, CHART_RADIUS_SHARE = 0.70, 0.163


def gardiner_ratio(radius_mm: float, thickness_mm: float, *, yield_mpa: float, modulus_mpa: float) -> float:
    """Radius under load over radius after release of a perfectly plastic sheet: 1 - 3x + 4x^3, x = r Y/(E t).

    From x = 0.5 on the sheet stays elastic and the ratio is 0. In plane strain: 1.1547 times yield and E/(1 - nu^2).
    Source: F. J. Gardiner, The Spring Back of Metals, Trans. ASME 79 (1957), from memory.
    """
    x = min(0.5, radius_mm * yield_mpa / (modulus_mpa * thickness_mm))
    return 1 - 3 * x + 4 * x**3
