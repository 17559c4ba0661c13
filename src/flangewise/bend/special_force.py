"""Force of what is not an air bend: hem flattening, offsets, bottoming, coining. Trade tables, no model behind them.

No angle is predicted for any of these.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

import numpy as np

from .force import KN_PER_M_PER_TONNE_PER_M

Hem = Literal["closed", "open"]

HEM_THICKNESSES_MM = (0.6, 0.8, 1.0, 1.2, 1.6, 2.0, 2.6, 3.2, 4.5)

HEM_TONNES_PER_M: Mapping[Hem, tuple[float, ...]] = MappingProxyType(
    {
        "open": (9, 12, 15, 17, 24, 30, 55, 70, 105),
        "closed": (23, 32, 40, 50, 63, 80, 90, 100, 200),
    }
)
"""Metric tonnes per metre to flatten a hem in cold-rolled and stainless sheet.

Source: S. D. Benson, Press Brake Technology, SME 1997, p. 138, as quoted in an encyclopedia article; it does not
separate the metals.
"""

HEM_TENSILE_MPA = 400.0
"""Tensile strength above which the hem table is scaled up (judgement; the table names no strength)."""


@dataclass(frozen=True)
class ForceFactor:
    """A force as a multiple of the air-bend force: the range printed, the figure to plan with, and who says so."""

    least: float
    most: float
    planning: float
    source: str


FORCE_FACTORS: Mapping[str, ForceFactor] = MappingProxyType(
    {
        "offset": ForceFactor(2.5, 2.5, 2.5, "a die maker's factors: offset 150 against air bend 60"),
        "channel": ForceFactor(3.75, 3.75, 3.75, "a die maker's factors: channel 225 against air bend 60"),
        "bottoming": ForceFactor(2.0, 5.0, 5.0, "2 to 5, from memory; a die maker's factors give 2.5"),
        "coining": ForceFactor(5.0, 30.0, 10.0, "5 to 10, from memory; one trade page says 5 to 30"),
    }
)
"""Form -> factor on the air-bend force of the same sheet and opening."""


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


def factored_force_kn_per_m(form: str, air_bend_kn_per_m: float) -> float:
    """Force of an offset, channel, bottomed or coined bend from the air-bend force; KeyError for another form.

    Source: FORCE_FACTORS, each with its own.
    """
    return FORCE_FACTORS[form].planning * air_bend_kn_per_m
