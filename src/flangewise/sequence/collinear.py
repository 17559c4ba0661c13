"""Bends that lie on one line and can be made in one hit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

SAME_MM = 0.05
SAME_DEG = 0.05


@dataclass(frozen=True)
class BendLine:
    """A bend line on the blank: a point of it, its direction, and the bend made there (+ toward the marked face)."""

    at_mm: tuple[float, float]
    direction_deg: float
    turn_deg: float
    radius_mm: float


def alike(one: BendLine, other: BendLine) -> bool:
    """Whether two bends have the same line, side, angle and radius: then one hit makes both."""
    apart = (one.direction_deg - other.direction_deg + 90) % 180 - 90
    angle = math.radians(one.direction_deg)
    across, up = other.at_mm[0] - one.at_mm[0], other.at_mm[1] - one.at_mm[1]
    aside = abs(up * math.cos(angle) - across * math.sin(angle))
    same_line = abs(apart) <= SAME_DEG and aside <= SAME_MM
    same_turn = abs(one.turn_deg - other.turn_deg) <= SAME_DEG
    return same_line and same_turn and abs(one.radius_mm - other.radius_mm) <= SAME_MM


def merged(lines: Sequence[BendLine]) -> tuple[tuple[int, ...], ...]:
    """Bends grouped into operations: those alike together, each group by its first bend.

    Two tabs on one line with a gap are one operation; bent to opposite sides they are two.
    """
    groups: list[list[int]] = []
    for number, line in enumerate(lines):
        home = next((group for group in groups if alike(lines[group[0]], line)), None)
        if home is None:
            groups.append([number])
        else:
            home.append(number)
    return tuple(tuple(group) for group in groups)
