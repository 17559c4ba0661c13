"""What a person lifts, and how it is flagged for somebody to look at: never whether it may be lifted.

The recommended weight limit of the revised NIOSH equation, metric: 23 kg HM VM DM AM FM CM. Source: Waters, Putz-
Anderson, Garg, Applications Manual for the Revised NIOSH Lifting Equation, DHHS (NIOSH) 94-110; the factors of
frequency from memory. It is for smooth lifts with two hands, not for carrying, and not for wide or unstable loads.
"""

from itertools import pairwise
from typing import Any

from flangewise.records import dataclass
from flangewise.shop import Lifting

LOAD_KG = 23.0
# Lifts a minute against the factor for up to 1, 2 and 8 hours, hands at 750 mm or higher; from memory.
FREQUENCIES = (
    (0.2, {1: 1.00, 2: 0.95, 8: 0.85}),
    (1.0, {1: 0.94, 2: 0.88, 8: 0.75}),
    (2.0, {1: 0.91, 2: 0.84, 8: 0.65}),
    (4.0, {1: 0.84, 2: 0.72, 8: 0.45}),
    (6.0, {1: 0.75, 2: 0.50, 8: 0.27}),
    (8.0, {1: 0.60, 2: 0.35, 8: 0.18}),
    (10.0, {1: 0.45, 2: 0.26, 8: 0.13}),
)
# A fair coupling counts less where the hands start under 750 mm.
COUPLINGS = {"good": (1.0, 1.0), "fair": (0.95, 1.0), "poor": (0.9, 0.9)}
LEVEL_MM = 750.0
LEAST_OUT_MM, MOST_OUT_MM, MOST_HIGH_MM, LEAST_LIFT_MM, MOST_LIFT_MM = 250.0, 630.0, 1750.0, 250.0, 1750.0

# From here on a second person or an aid is to be looked at; common practice, a flag and no verdict.
FLAG_KG, FLAG_MM, OFTEN_KG, OFTEN_A_MIN = 10.0, 1500.0, 5.0, 4.0
# A box of this mass is planned for hands, and over that much not without somebody having looked; common practice.
BOX_KG, BOX_MOST_KG = 12.0, 15.0


def frequency_factor(lifts_per_min: float, hours: int) -> float | None:
    """The factor of frequency, straight between the table's rows; None for more lifts than it lists.

    >>> frequency_factor(4, 8), frequency_factor(3, 1)
    (0.45, 0.875)
    """
    first_min, last_min = FREQUENCIES[0][0], FREQUENCIES[-1][0]
    if lifts_per_min > last_min:
        return None
    if lifts_per_min <= first_min:
        return FREQUENCIES[0][1][hours]
    for (low, less), (high, more) in pairwise(FREQUENCIES):
        if lifts_per_min <= high:
            share = (lifts_per_min - low) / (high - low)
            return less[hours] + share * (more[hours] - less[hours])
    return None


def recommended_kg(lifting: Lifting, lifts_per_min: float) -> float | None:
    """The recommended weight limit; 0 beyond the reach of the equation, None for more lifts than its table lists."""
    frequency = frequency_factor(lifts_per_min, lifting.shift_hours)
    if frequency is None:
        return None
    if lifting.hands_out_mm > MOST_OUT_MM or lifting.hands_high_mm > MOST_HIGH_MM or lifting.lift_mm > MOST_LIFT_MM:
        return 0.0
    out = LEAST_OUT_MM / max(lifting.hands_out_mm, LEAST_OUT_MM)
    high = 1 - 0.0003 * abs(lifting.hands_high_mm - LEVEL_MM)
    far = 0.82 + 45 / max(lifting.lift_mm, LEAST_LIFT_MM)
    twisted = 1 - 0.0032 * lifting.twist_deg
    coupling = COUPLINGS[lifting.coupling][lifting.hands_high_mm >= LEVEL_MM]
    return LOAD_KG * out * high * far * twisted * frequency * coupling


@dataclass(frozen=True)
class Lift:
    """One thing that is lifted: how heavy and long it is, how often; `flags` say why somebody should look at it.

    `recommended_kg` is None where nothing was entered of how it is lifted, or it is lifted oftener than the table goes.
    """

    what: str
    mass_kg: float
    longest_mm: float
    lifts_per_min: float
    recommended_kg: float | None
    flags: tuple[str, ...]
    missing: tuple[str, ...]

    @property
    def index(self) -> float | None:
        """Mass over the recommended limit."""
        return self.mass_kg / self.recommended_kg if self.recommended_kg else None

    def as_json(self) -> dict[str, Any]:
        """The same with its keys."""
        return {**vars(self), "flags": list(self.flags), "missing": list(self.missing), "lifting_index": self.index}


def lift_of(what: str, mass_kg: float, *, longest_mm: float, lifts_per_min: float, lifting: Lifting | None) -> Lift:
    """What a person lifts so often, with its flags for assessment."""
    flags = []
    if mass_kg > FLAG_KG:
        flags.append("heavy")
    if longest_mm > FLAG_MM:
        flags.append("long")
    if mass_kg > OFTEN_KG and lifts_per_min > OFTEN_A_MIN:
        flags.append("often")
    if what == "box" and mass_kg > BOX_MOST_KG:
        flags.append("box-over")
    found = None if lifting is None else recommended_kg(lifting, lifts_per_min)
    if found is not None and mass_kg > found:
        flags.append("over-recommended")
    missing = ("lifting",) if lifting is None else ()
    return Lift(what, mass_kg, longest_mm, lifts_per_min, found, tuple(flags), missing)
