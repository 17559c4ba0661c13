"""What is made in one hit of a panel: bends on one line, alike, that lie on one line in every state of the part."""

from __future__ import annotations

import math

from flangewise.geometry import Point
from flangewise.pattern import BendZone, OffsetZone, PanelBlank
from flangewise.records import dataclass, replace

# Bends on one line and alike, to within this (common practice: what the stops and the tools do not tell apart).
SAME_MM, SAME_DEG = 0.05, 0.05
# A bend that turns further is a hem: bent first, then flattened.
HEM_DEG = 135.0


@dataclass(frozen=True)
class PanelOperation:
    """Bends of a panel made in one hit; the number counts from 1 in the order of their lowest bends.

    `offset_up`: of offsets, which may lie either way, whether the marked face is up.
    """

    number: int
    zones: tuple[BendZone, ...]
    offset_up: bool | None = None

    @property
    def bends(self) -> tuple[int, ...]:
        """The bends' numbers, rising."""
        return tuple(zone.bend for zone in self.zones)

    @property
    def parents(self) -> tuple[int, ...]:
        """The faces that the bends hang on, each once."""
        return tuple(dict.fromkeys(zone.face_from for zone in self.zones))

    @property
    def faces(self) -> tuple[int, ...]:
        """The faces that hang on the bends."""
        return tuple(zone.face_to for zone in self.zones)

    @property
    def marked_up(self) -> bool:
        """Which face lies up: sheet is bent up about the die, so the one that it is bent toward; an offset's own."""
        return self.zones[0].toward if self.offset_up is None else self.offset_up

    @property
    def is_hem(self) -> bool:
        """Whether it is bent further than tools go, and flattened."""
        return self.zones[0].turn_deg > HEM_DEG

    @property
    def is_offset(self) -> bool:
        """Whether two opposite bends are pressed at once."""
        return isinstance(self.zones[0], OffsetZone)

    def lying(self) -> tuple[PanelOperation, ...]:
        """The operation with either face up, where both may be."""
        return tuple(replace(self, offset_up=up) for up in (True, False)) if self.is_offset else (self,)

    @property
    def half_zone_mm(self) -> float:
        """From the bend line to where the wings begin."""
        return self.zones[0].width_mm / 2

    @property
    def along(self) -> Point:
        """Direction of the line on the blank; what is bent lies to its left."""
        (x, y), (to_x, to_y) = self.zones[0].line_mm
        length_mm = math.dist(*self.zones[0].line_mm)
        return (to_x - x) / length_mm, (to_y - y) / length_mm

    @property
    def runs_mm(self) -> tuple[tuple[float, float], ...]:
        """The bends' stretches along the line as `along` runs, from the beginning of the first, each (from, to)."""
        dx, dy = self.along
        ends = sorted(tuple(sorted(x * dx + y * dy for x, y in zone.line_mm)) for zone in self.zones)
        return tuple((low - ends[0][0], high - ends[0][0]) for low, high in ends)

    @property
    def length_mm(self) -> float:
        """From the beginning of the first run to the end of the last."""
        return self.runs_mm[-1][1]


def operations_of(blank: PanelBlank, *, together: bool = True) -> tuple[PanelOperation, ...]:
    """The operations of a blank, each bend in one; with `together` False each bend by itself.

    Bends go together on one line, of one turn, side and radius, whose parents are one face or are themselves bent
    together: then they lie on one line whatever is bent before.
    """
    groups: list[list[BendZone]] = []
    group_of: dict[int, int] = {}
    for zone in blank.joints:
        fits = (at for at, group in enumerate(groups) if together and _goes_with(zone, group[0], group_of))
        home = next(fits, len(groups))
        if home == len(groups):
            groups.append([])
        groups[home].append(zone)
        group_of[zone.face_to] = home
    return tuple(PanelOperation(number, tuple(group)) for number, group in enumerate(groups, start=1))


def _goes_with(zone: BendZone, other: BendZone, group_of: dict[int, int]) -> bool:
    parent = group_of.get(zone.face_from)
    one_parent = zone.face_from == other.face_from or (parent is not None and parent == group_of.get(other.face_from))
    alike = zone.toward == other.toward and abs(zone.turn_deg - other.turn_deg) <= SAME_DEG
    alike = alike and abs(zone.inside_radius_mm - other.inside_radius_mm) <= SAME_MM
    # An offset beside a bend, or of another step, is wider.
    alike = alike and type(zone) is type(other) and abs(zone.width_mm - other.width_mm) <= SAME_MM
    return one_parent and alike and _on_one_line(zone, other)


def _on_one_line(zone: BendZone, other: BendZone) -> bool:
    (x, y), (to_x, to_y) = other.line_mm
    axis = math.atan2(to_y - y, to_x - x)
    (own_x, own_y), (own_to_x, own_to_y) = zone.line_mm
    turned = math.remainder(math.atan2(own_to_y - own_y, own_to_x - own_x) - axis, math.tau)
    aside = [
        abs((at_y - y) * math.cos(axis) - (at_x - x) * math.sin(axis))
        for at_x, at_y in ((own_x, own_y), (own_to_x, own_to_y))
    ]
    return abs(math.degrees(turned)) <= SAME_DEG and max(aside) <= SAME_MM
