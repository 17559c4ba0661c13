"""What lots teach: a depth offset and a springback multiplier by a two-state filter, a deduction by a shrunken mean.

The first piece of a lot shows y = measured turn - model turn at the depth used = s d - release x l + lot + noise, with
s the degrees per mm, d the depth offset and l the ln of the springback multiplier. One row a lot: average its pieces
before. Source: Kalman's filter with two states; shrinkage toward the parent's mean (both from memory).
"""

import math
from collections.abc import Sequence

import numpy as np

from flangewise.records import dataclass, replace

from .records import Learned

# What one piece and its gauge scatter (judgement, common practice with a digital protractor).
PIECE_SD_DEG = 0.25
OUTLIER_SDS = 4.0
OFFSET_FLOOR_SD_MM = 0.03
SPRINGBACK_SD = 0.18
DRIFT_SD_MM = 0.01
FADE_PER_LOT = 0.9


@dataclass(frozen=True)
class LearnedState:
    """Depth offset and ln springback multiplier with their variances and covariance, after so many lots used."""

    depth_offset_mm: float
    springback_log: float
    offset_var_mm2: float
    springback_var: float
    covar_mm: float
    lots: int

    @property
    def learned(self) -> Learned:
        """What the model is to be given."""
        return Learned(self.depth_offset_mm, self.springback_log)


@dataclass(frozen=True)
class LotError:
    """One lot: error of the turn against the bare model, and the bend's own figures at the depth used.

    lot_sd_deg: how far thickness differs from lot to lot, as degrees; with the thickness measured about s x 0.02 mm.
    """

    error_deg: float
    deg_per_mm: float
    springback_deg: float
    lot_sd_deg: float
    piece_sd_deg: float


@dataclass(frozen=True)
class LearnedMean:
    """A learned deduction: mean, its standard deviation, how many rows it rests on, which were left out as outliers."""

    mean_mm: float
    sd_mm: float
    count: int
    outliers: tuple[int, ...]


def prior_state(thickness_tolerance_mm: float, *, springback_sd: float = SPRINGBACK_SD) -> LearnedState:
    """State before anything is measured: nothing off, depth offset known to sqrt((tol/3)^2 + 0.03^2) mm."""
    var = (thickness_tolerance_mm / 3) ** 2 + OFFSET_FLOOR_SD_MM**2
    return LearnedState(0.0, 0.0, var, springback_sd**2, 0.0, 0)


def learn_lot(state: LearnedState, lot: LotError, *, drift_sd_mm: float = DRIFT_SD_MM) -> tuple[LearnedState, bool]:
    """State after one more lot, and whether it was used: one beyond 4 s.d. is an outlier and leaves only the drift."""
    known = np.array([[state.offset_var_mm2, state.covar_mm], [state.covar_mm, state.springback_var]])
    known[0, 0] += drift_sd_mm**2
    seen = np.array([lot.deg_per_mm, -lot.springback_deg])
    shared = known @ seen
    var = float(seen @ shared) + lot.lot_sd_deg**2 + lot.piece_sd_deg**2
    value = np.array([state.depth_offset_mm, state.springback_log])
    surprise = lot.error_deg - float(seen @ value)
    used = var > 0 and abs(surprise) <= OUTLIER_SDS * math.sqrt(var)
    if used:
        value, known = value + shared / var * surprise, known - np.outer(shared, shared) / var
    learned = LearnedState(
        depth_offset_mm=float(value[0]),
        springback_log=float(value[1]),
        offset_var_mm2=float(known[0, 0]),
        springback_var=float(known[1, 1]),
        covar_mm=float(known[0, 1]),
        lots=state.lots + used,
    )
    return learned, used


def learn_lots(
    state: LearnedState, lots: Sequence[LotError], *, drift_sd_mm: float = DRIFT_SD_MM
) -> tuple[LearnedState, tuple[int, ...]]:
    """State after all lots in order, and which of them were left out as outliers."""
    left_out: tuple[int, ...] = ()
    for index, lot in enumerate(lots):
        state, used = learn_lot(state, lot, drift_sd_mm=drift_sd_mm)
        left_out += () if used else (index,)
    return state, left_out


def borrowed_state(state: LearnedState, others: Sequence[LearnedState]) -> LearnedState:
    """Start for a new key of a material: the springback its other keys learned, the depth offset not.

    Springback belongs to the metal, the offset to machine, die and sheet. Others without lots lend nothing. Each
    donor counts by its certainty, and half of the prior variance stays, because keys differ.
    """
    donors = [other for other in others if other.lots > 0]
    if not donors:
        return state
    own = state.springback_var / 2
    weights = [1 / (other.springback_var + own) for other in donors]
    mean = sum(w * other.springback_log for w, other in zip(weights, donors, strict=True))
    weight = sum(weights) + 1 / state.springback_var
    return replace(
        state,
        springback_log=(mean + state.springback_log / state.springback_var) / weight,
        springback_var=min(own + 1 / weight, state.springback_var),
        covar_mm=0.0,
        lots=0,
    )


def shrunken_mean(
    values_mm: Sequence[float], *, parent_mm: float, between_sd_mm: float, noise_sd_mm: float
) -> LearnedMean:
    """Deduction learned from lots, oldest first, drawn toward the parent's (the rule's, or the material's mean).

    Weights 0.9^age; estimate = parent + (mean - parent) tau^2/(tau^2 + v/n_eff), n_eff = (sum w)^2/sum w^2. A value
    more than 4 s.d. from the weighted mean of the others is left out; with only two the one farther from the parent
    goes. No values: the parent, known to between_sd_mm. Needs a noise above zero (ValueError).
    """
    if noise_sd_mm <= 0:
        raise ValueError("values without noise need no mean")
    ages = [len(values_mm) - 1 - index for index in range(len(values_mm))]
    rows = [(value, FADE_PER_LOT**age, index) for index, (value, age) in enumerate(zip(values_mm, ages, strict=True))]
    outliers: list[int] = []
    while (far := _farthest(rows, parent_mm, math.hypot(between_sd_mm, noise_sd_mm), noise_sd_mm)) is not None:
        outliers.append(far)
        rows = [row for row in rows if row[2] != far]
    if not rows:
        return LearnedMean(parent_mm, between_sd_mm, 0, tuple(sorted(outliers)))
    total = sum(weight for _, weight, _ in rows)
    mean = sum(value * weight for value, weight, _ in rows) / total
    count = total**2 / sum(weight**2 for _, weight, _ in rows)
    noise = noise_sd_mm**2 / count
    share = between_sd_mm**2 / (between_sd_mm**2 + noise)
    return LearnedMean(
        mean_mm=parent_mm + share * (mean - parent_mm),
        sd_mm=math.sqrt(share * noise),
        count=len(rows),
        outliers=tuple(sorted(outliers)),
    )


def _farthest(
    rows: Sequence[tuple[float, float, int]], parent_mm: float, parent_sd_mm: float, noise_sd_mm: float
) -> int | None:
    """The row farthest from what parent and the other rows say, if beyond 4 s.d."""
    # The parent counts as one row, by how well it is known beside a single row.
    pull = (noise_sd_mm / parent_sd_mm) ** 2
    far: dict[int, float] = {}
    for value, _, index in rows:
        others = [(other, weight) for other, weight, at in rows if at != index]
        weight = pull + sum(w for _, w in others)
        centre = (pull * parent_mm + sum(v * w for v, w in others)) / weight
        far[index] = abs(value - centre) / (noise_sd_mm * math.sqrt(1 + 1 / weight))
    return max((index for index in far if far[index] > OUTLIER_SDS), key=lambda index: far[index], default=None)
