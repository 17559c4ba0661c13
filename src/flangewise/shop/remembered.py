"""What a shop's measured bends amount to, key by key: a view for people who want to know what is used, and why."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from flangewise.shop.learned import (
    DeductionKey,
    DepthKey,
    LearnedDeduction,
    LearnedDepth,
    deduction_key_of,
    depth_key_of,
    learned_deduction,
    learned_depth,
)
from flangewise.shop.measured import MeasuredBends, MeasuredRow

KeyT = TypeVar("KeyT")


@dataclass(frozen=True)
class RememberedDepth:
    """What is learned of depth and springback for a key, and the depth change it makes at the last turn measured."""

    key: DepthKey
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

    key: DeductionKey
    learned: LearnedDeduction
    rule_mm: float


def remembered_depths(
    measured: MeasuredBends, tolerance_mm: Callable[[str, float], float | None]
) -> tuple[RememberedDepth, ...]:
    """Every depth key that was measured, in the order of the file; `tolerance_mm` of a material and thickness."""
    found = []
    for key, row in _last_rows(measured.rows, depth_key_of).items():
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
    for key, row in _last_rows(measured.rows, deduction_key_of).items():
        if row.rule_deduction_mm is None or row.deduction_mm is None:
            continue
        learned = learned_deduction(measured, key, rule_mm=row.rule_deduction_mm)
        if learned is not None:
            found.append(RememberedDeduction(key, learned, row.rule_deduction_mm))
    return tuple(found)


def _last_rows(rows: tuple[MeasuredRow, ...], key_of: Callable[[MeasuredRow], KeyT]) -> dict[KeyT, MeasuredRow]:
    return {key_of(row): row for row in rows}
