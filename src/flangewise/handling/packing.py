"""How many finished parts a box, a pallet or a cart takes, and which limit governs.

n_stack = 1 + floor((B - e) / p), with the room B, one part's height e and the pitch p. What a box takes is the least of
its room, of the mass it may have, of what the customer wants, and of what stands. Source: geometry; limits are entered.
"""

import math
from collections.abc import Mapping
from typing import Any

from flangewise.handling.nesting import Nest, Paired
from flangewise.part import PackingWay as Way
from flangewise.records import dataclass, field

# A stack leans as it creeps sideways: without walls it stands up to so many times its width; common practice.
STANDS_SHARE = 3.0
# What is told of painted or filmed parts: higher they are not dropped; common practice.
SOFT_DROP_MM = 50.0
# Rounding noise costs no part.
NOISE = 1e-9


def in_a_stack(room_mm: float, *, high_mm: float, pitch_mm: float) -> int:
    """How many lie on each other in a height: one, and one more for each pitch above it; none where not one fits.

    >>> in_a_stack(260, high_mm=26, pitch_mm=26), in_a_stack(260, high_mm=30, pitch_mm=2.828427)
    (10, 82)
    """
    if room_mm < high_mm - NOISE:
        return 0
    return 1 + math.floor((room_mm - high_mm) / pitch_mm + NOISE)


def by_mass(most_gross_kg: float, *, box_kg: float, part_kg: float) -> int:
    """How many parts the mass allows.

    >>> by_mass(12, box_kg=0, part_kg=0.432)
    27
    """
    return max(0, math.floor((most_gross_kg - box_kg) / part_kg + NOISE))


def dropped(fill_share: float, *, box_mm3: float, part_mm3: float) -> int:
    """How many fit loosely: what share of the box the parts' envelopes fill, found by counting a box.

    >>> dropped(0.3, box_mm3=1000.0, part_mm3=100.0)
    3
    """
    return math.floor(fill_share * box_mm3 / part_mm3 + NOISE)


@dataclass(frozen=True)
class Container:
    """What takes the parts: what can be used inside, (long, wide, high), its mass and the most it may weigh full.

    `walled`: its walls hold a stack that would lean.
    """

    long_mm: float
    wide_mm: float
    high_mm: float
    mass_kg: float
    most_gross_kg: float
    walled: bool


@dataclass(frozen=True)
class Piece:
    """A finished part as it is packed: how it nests or pairs, its length and mass."""

    nest: Nest
    paired: Paired | None
    length_mm: float
    mass_kg: float


@dataclass(frozen=True)
class PackingAsked:
    """How it is to be packed: in stacks, in pairs or dropped; how many a box at most, what lies between them."""

    way: Way
    most: int | None = None
    separator_mm: float = 0.0
    more_pitch_mm: float = 0.0
    fill_share: float | None = None


@dataclass(frozen=True)
class Packed:
    """What a box takes. `limits`: how many each limit allows; `governs` is the least of them.

    `a_stack`, `a_layer`: on each other and side by side; None where parts are dropped. `count` is None where something
    was not entered, which is then in `missing`.
    """

    way: Way
    pitch_mm: float | None
    a_stack: int | None
    a_layer: int | None
    count: int | None
    governs: str | None
    gross_kg: float | None
    limits: Mapping[str, int] = field(default_factory=dict)
    missing: tuple[str, ...] = ()

    @property
    def layers(self) -> int | None:
        """How many layers the count makes, the last perhaps not full."""
        return math.ceil(self.count / self.a_layer) if self.count is not None and self.a_layer else None

    def as_json(self) -> dict[str, Any]:
        """The same with its keys."""
        return {**vars(self), "layers": self.layers, "limits": dict(self.limits), "missing": list(self.missing)}


def pack(piece: Piece, container: Container, asked: PackingAsked) -> Packed:
    """How many parts the container takes in the way asked. Which limit governs is told, the first of those alike."""
    limits: dict[str, int] = {}
    a_stack = a_layer = pitch_mm = None
    if asked.way == "dropped":
        if asked.fill_share is None:
            return Packed("dropped", None, None, None, None, None, None, missing=("fill_share",))
        box_mm3 = container.long_mm * container.wide_mm * container.high_mm
        part_mm3 = piece.nest.wide_mm * piece.nest.high_mm * piece.length_mm
        limits["space"] = dropped(asked.fill_share, box_mm3=box_mm3, part_mm3=part_mm3)
    else:
        high_mm, own_mm, stand_mm = _heights(piece, asked)
        pitch_mm = own_mm + asked.separator_mm + asked.more_pitch_mm
        a_stack = in_a_stack(container.high_mm, high_mm=high_mm, pitch_mm=pitch_mm)
        a_layer = _a_layer(piece, container, asked.way)
        limits["space"] = a_stack * a_layer
        if not container.walled:
            limits["stability"] = a_layer * in_a_stack(STANDS_SHARE * stand_mm, high_mm=high_mm, pitch_mm=pitch_mm)
    limits["mass"] = by_mass(container.most_gross_kg, box_kg=container.mass_kg, part_kg=piece.mass_kg)
    if asked.most is not None:
        limits["wanted"] = asked.most
    governs = min(limits, key=lambda name: limits[name])
    count = limits[governs]
    gross_kg = container.mass_kg + count * piece.mass_kg
    return Packed(asked.way, pitch_mm, a_stack, a_layer, count, governs, gross_kg, limits)


def _heights(piece: Piece, asked: PackingAsked) -> tuple[float, float, float]:
    """Height of the first, what each more adds, and the width it stands on; of pairs those of a double row."""
    if asked.way == "pairs" and piece.paired is not None:
        return piece.paired.high_mm, piece.paired.high_mm, piece.paired.wide_mm + piece.paired.shift_mm
    return piece.nest.high_mm, piece.nest.pitch_mm, piece.nest.wide_mm


def _a_layer(piece: Piece, container: Container, way: Way) -> int:
    """How many lie side by side, the part's length along the box or across it, whichever holds more."""

    def rows(length_mm: float, across_mm: float) -> int:
        if way == "pairs" and piece.paired is not None:
            across = piece.paired.in_a_row(across_mm)
        else:
            across = math.floor(across_mm / piece.nest.wide_mm + NOISE)
        return math.floor(length_mm / piece.length_mm + NOISE) * across

    return max(rows(container.long_mm, container.wide_mm), rows(container.wide_mm, container.long_mm))
