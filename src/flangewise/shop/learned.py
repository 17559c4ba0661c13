"""What measured bends teach the next one: a depth offset and a springback multiplier, and a deduction, key by key.

Pieces of a lot are averaged first; lots go through the two-state filter and the shrunken mean of the bend room. A key
that nothing was measured for borrows from the material. What all rows amount to is told for who wants to know why.
"""

import math
from collections.abc import Callable, Iterable, Mapping
from typing import TypeVar

from flangewise.bend import (
    PIECE_SD_DEG,
    TWO_SIDED_95,
    Learned,
    LearnedState,
    LotError,
    borrowed_state,
    learn_lots,
    prior_state,
    shrunken_mean,
)
from flangewise.records import dataclass
from flangewise.shop.measured import MeasuredBends, MeasuredRow
from flangewise.words import Phrase, phrase

KeyT = TypeVar("KeyT")

# Judgements: what a measured thickness leaves open, how far the allowance rule is off as a share of the thickness, and
# the least noise of a deduction (common practice with a calliper).
MEASURED_THICKNESS_SD_MM = 0.02
RULE_SD_SHARE = 0.1
LEAST_DEDUCTION_SD_MM = 0.05
# Where a material has no tolerance table: a tenth of the thickness would be too sure for thick sheet, this is for thin.
USUAL_TOLERANCE_MM = 0.1


@dataclass(frozen=True)
class BendKey:
    """What bends that are compared have in common: material, thickness to 0.01 mm, die, nose to half a millimetre.

    Beside them the machine counts for depth and springback, the turn in whole degrees for the deduction.
    """

    material: str
    thickness_mm: float
    die: str
    nose_class_mm: float
    machine: str = ""
    turn_deg: int = 0


def bend_key(
    material: str, thickness_mm: float, die: str, nose_mm: float, *, machine: str = "", turn_deg: float = 0.0
) -> BendKey:
    """The key of an air bend: with its machine for depth and springback, with its turn for the deduction."""
    return BendKey(material, round(thickness_mm, 2), die, round(2 * nose_mm) / 2, machine, round(turn_deg))


def depth_key_of(row: MeasuredRow) -> BendKey:
    """The key of a measured row for depth and springback."""
    return bend_key(row.material, row.thickness_mm, row.die, row.nose_radius_mm, machine=row.machine)


def deduction_key_of(row: MeasuredRow) -> BendKey:
    """The key of a measured row for its deduction."""
    return bend_key(row.material, row.thickness_mm, row.die, row.nose_radius_mm, turn_deg=row.wanted_turn_deg)


@dataclass(frozen=True)
class Known:
    """How well a key is known.

    `lots` counts lots of the key itself; with none, `donor_lots` of the material's other keys stand in for it.
    `plus_minus_mm` is the 95 % half width of the figure, `outliers` the lots kept in the file but not used.
    """

    lots: int
    plus_minus_mm: float
    donor_lots: int
    outliers: tuple[str, ...]

    @property
    def told(self) -> Phrase:
        """How it is known, in words."""
        if self.lots:
            return phrase("measured.known", count=self.lots, spread_mm=self.plus_minus_mm)
        return phrase("measured.borrowed", count=self.donor_lots)


@dataclass(frozen=True)
class LearnedDepth(Known):
    """What is learned of depth and springback for a key; without lots of its own the springback alone."""

    learned: Learned


@dataclass(frozen=True)
class LearnedDeduction(Known):
    """The learned deduction of a key."""

    deduction_mm: float


def learned_depth(measured: MeasuredBends, key: BendKey, *, tolerance_mm: float | None) -> LearnedDepth | None:
    """Depth offset and springback for a key, `tolerance_mm` its thickness's half width; None: nothing measured."""
    rows = (row for row in measured.rows if None not in (row.error_deg, row.deg_per_mm, row.springback_deg))
    by_key = _grouped(rows, depth_key_of)
    start = prior_state(tolerance_mm or USUAL_TOLERANCE_MM)
    others = [rows for other, rows in by_key.items() if other != key and other.material == key.material]
    states = [_taught(start, rows, tolerance_mm)[0] for rows in others]
    state, outliers = _taught(borrowed_state(start, states), by_key.get(key, []), tolerance_mm)
    donor_lots = sum(donor.lots for donor in states)
    if state.lots == 0 and donor_lots == 0:
        return None
    sd_mm = math.sqrt(state.offset_var_mm2)
    return LearnedDepth(state.lots, TWO_SIDED_95 * sd_mm, donor_lots, outliers, state.learned)


def _grouped(rows: Iterable[MeasuredRow], key_of: Callable[[MeasuredRow], KeyT]) -> dict[KeyT, list[MeasuredRow]]:
    found: dict[KeyT, list[MeasuredRow]] = {}
    for row in rows:
        found.setdefault(key_of(row), []).append(row)
    return found


def _by_lot(rows: Iterable[MeasuredRow]) -> dict[str, list[MeasuredRow]]:
    return _grouped(rows, lambda row: row.lot)


def _taught(
    start: LearnedState, rows: list[MeasuredRow], tolerance_mm: float | None
) -> tuple[LearnedState, tuple[str, ...]]:
    lots = _by_lot(rows)
    state, left_out = learn_lots(start, [_lot_error(pieces, tolerance_mm) for pieces in lots.values()])
    names = list(lots)
    return state, tuple(names[index] for index in left_out)


def _lot_error(pieces: list[MeasuredRow], tolerance_mm: float | None) -> LotError:
    """A lot's pieces as one: mean error and figures, the scatter of a piece divided by the root of their count."""
    rate = _mean(piece.deg_per_mm or 0.0 for piece in pieces)
    is_measured = all(piece.measured_thickness_mm is not None for piece in pieces)
    thickness_sd = MEASURED_THICKNESS_SD_MM if is_measured else (tolerance_mm or USUAL_TOLERANCE_MM) / 3
    return LotError(
        error_deg=_mean(piece.error_deg or 0.0 for piece in pieces),
        deg_per_mm=rate,
        springback_deg=_mean(piece.springback_deg or 0.0 for piece in pieces),
        lot_sd_deg=rate * thickness_sd,
        piece_sd_deg=PIECE_SD_DEG / math.sqrt(len(pieces)),
    )


def learned_deduction(measured: MeasuredBends, key: BendKey, *, rule_mm: float) -> LearnedDeduction | None:
    """The deduction for a key, drawn toward the rule's; None where neither it nor its material has been measured."""
    rows = (row for row in measured.rows if None not in (row.deduction_mm, row.rule_deduction_mm))
    by_key = _grouped(rows, deduction_key_of)
    others = {other: rows for other, rows in by_key.items() if other != key and other.material == key.material}
    share, donor_lots = _share_off(others)
    lots = _by_lot(by_key.get(key, []))
    if not lots and not donor_lots:
        return None
    between = RULE_SD_SHARE * key.thickness_mm
    found = shrunken_mean(
        [_mean(row.deduction_mm or 0.0 for row in rows) for rows in lots.values()],
        parent_mm=rule_mm + share * key.thickness_mm,
        between_sd_mm=between,
        noise_sd_mm=_noise_mm(lots),
    )
    names = list(lots)
    outliers = tuple(names[index] for index in found.outliers)
    return LearnedDeduction(found.count, TWO_SIDED_95 * found.sd_mm, donor_lots, outliers, found.mean_mm)


def _share_off(others: Mapping[BendKey, list[MeasuredRow]]) -> tuple[float, int]:
    """How far the material's other keys are off their rules, as a share of thickness, and how many lots tell it."""
    shares, noises = [], []
    for other, rows in others.items():
        for pieces in _by_lot(rows).values():
            off = _mean((row.deduction_mm or 0.0) - (row.rule_deduction_mm or 0.0) for row in pieces)
            shares.append(off / other.thickness_mm)
            noises.append(_noise_mm({"": pieces}) / other.thickness_mm)
    if not shares:
        return 0.0, 0
    found = shrunken_mean(shares, parent_mm=0.0, between_sd_mm=RULE_SD_SHARE, noise_sd_mm=_mean(noises))
    return found.mean_mm, found.count


def _noise_mm(lots: Mapping[str, list[MeasuredRow]]) -> float:
    """Standard deviation of one lot's mean deduction, as the rows tell it; at least the least a calliper leaves."""
    told = [
        math.sqrt(_mean((row.deduction_sd_mm or LEAST_DEDUCTION_SD_MM) ** 2 for row in rows) / len(rows))
        for rows in lots.values()
    ]
    return max(LEAST_DEDUCTION_SD_MM, _mean(told) if told else 0.0)


def _mean(values: Iterable[float]) -> float:
    listed = list(values)
    return sum(listed) / len(listed) if listed else 0.0


@dataclass(frozen=True)
class RememberedDepth:
    """What is learned of depth and springback for a key, and the depth change it makes at the last turn measured."""

    key: BendKey
    learned: LearnedDepth
    turn_deg: float
    depth_change_mm: float

    @property
    def springback_factor(self) -> float:
        """What the model's springback is multiplied by."""
        return math.exp(self.learned.learned.springback_log)


@dataclass(frozen=True)
class RememberedDeduction:
    """The learned deduction of a key beside the rule's, as it was when the last row was measured."""

    key: BendKey
    learned: LearnedDeduction
    rule_mm: float


def remembered_depths(
    measured: MeasuredBends, tolerance_mm: Callable[[str, float], float | None]
) -> tuple[RememberedDepth, ...]:
    """Every depth key that was measured, in the order of the file; `tolerance_mm` of a material and thickness."""
    found = []
    for key, row in {depth_key_of(row): row for row in measured.rows}.items():
        learned = learned_depth(measured, key, tolerance_mm=tolerance_mm(key.material, key.thickness_mm))
        if learned is not None and row.deg_per_mm is not None and row.springback_deg is not None:
            change = _depth_change_mm(learned, row.deg_per_mm, springback_deg=row.springback_deg)
            found.append(RememberedDepth(key, learned, row.wanted_turn_deg, change))
    return tuple(found)


def _depth_change_mm(learned: LearnedDepth, deg_per_mm: float, *, springback_deg: float) -> float:
    """To first order: less the offset, and deeper by what more springback costs: Δθ (m - 1) / (dθ/dD)."""
    more_deg = springback_deg * (math.exp(learned.learned.springback_log) - 1)
    return more_deg / deg_per_mm - learned.learned.depth_offset_mm if deg_per_mm > 0 else 0.0


def remembered_deductions(measured: MeasuredBends) -> tuple[RememberedDeduction, ...]:
    """Every deduction key that was measured, in the order of the file."""
    found = []
    for key, row in {deduction_key_of(row): row for row in measured.rows}.items():
        if row.rule_deduction_mm is None or row.deduction_mm is None:
            continue
        learned = learned_deduction(measured, key, rule_mm=row.rule_deduction_mm)
        if learned is not None:
            found.append(RememberedDeduction(key, learned, row.rule_deduction_mm))
    return tuple(found)
