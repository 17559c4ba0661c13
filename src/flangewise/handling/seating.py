"""How a robot seats a part on the stops: with what push thin sheet does not buckle, and how it is known that it lies.

The sheet between the die and the stops is a strip pinned at both ends: Euler's N = pi^2 E' I / L^2 with E' = E/(1-nu^2)
and I = b t^3 / 12, b along the bed. Source: L. Euler 1744, as in S. P. Timoshenko, J. M. Gere, Theory of Elastic
Stability, 2nd ed., from memory; the plate's modulus for a strip that keeps its width.
"""

import math

from flangewise.records import dataclass
from flangewise.shop import FoundBy

# Of the force at which a strip buckles so much is pushed with (judgement).
PUSH_SHARE = 0.5
# An edge is square to the stops where its two ends differ by no more than this on fingers so far apart (judgement).
MM_PER_M = 1000.0


@dataclass(frozen=True)
class Seating:
    """How a part is pushed on the stops at a step.

    `buckles_n` at this push the sheet between stops and grip buckles; `most_n` what is pushed with at most, `push_n`
    the gripper's own (None: the shop does not say). `found_by` how both fingers are known to be touched (None: not
    known). `askew_mm_per_m`: what one finger that is missed by the stops' repeat turns the edge.
    """

    free_mm: float
    buckles_n: float
    most_n: float
    push_n: float | None
    found_by: FoundBy | None
    retries: int
    askew_mm_per_m: float | None

    @property
    def keeps(self) -> bool | None:
        """Whether the gripper's push does not buckle the sheet; None where the push is not known."""
        return None if self.push_n is None else self.push_n <= self.most_n


def buckling_n(*, modulus_mpa: float, poisson: float, along_mm: float, thickness_mm: float, free_mm: float) -> float:
    """Push at which a strip `free_mm` long buckles, pinned at both ends; infinite for none that is free.

    >>> round(buckling_n(modulus_mpa=210000, poisson=0.3, along_mm=250, thickness_mm=1, free_mm=200), 0)
    1186.0
    """
    if free_mm <= 0:
        return math.inf
    second_moment_mm4 = along_mm * thickness_mm**3 / 12
    return math.pi**2 * modulus_mpa / (1 - poisson**2) * second_moment_mm4 / free_mm**2


def seating(
    *,
    modulus_mpa: float,
    poisson: float,
    along_mm: float,
    thickness_mm: float,
    free_mm: float,
    push_n: float | None,
    found_by: FoundBy | None,
    retries: int,
    stop_repeat_mm: float,
    fingers_apart_mm: float | None,
) -> Seating:
    """How a part is seated whose sheet lies free over `free_mm` between stops and grip; flanges only stiffen it."""
    buckles_n = buckling_n(
        modulus_mpa=modulus_mpa, poisson=poisson, along_mm=along_mm, thickness_mm=thickness_mm, free_mm=free_mm
    )
    return Seating(
        free_mm=free_mm,
        buckles_n=buckles_n,
        most_n=PUSH_SHARE * buckles_n,
        push_n=push_n,
        found_by=found_by,
        retries=retries,
        askew_mm_per_m=None if not fingers_apart_mm else MM_PER_M * 2 * stop_repeat_mm / fingers_apart_mm,
    )
